// SPDX-License-Identifier: Apache-2.0
#include "config/line_section.hpp"

#include <algorithm>

#include "config/endpoint.hpp"
#include "config/key_file.hpp"

namespace catwalk::config {
namespace {

using std::chrono::milliseconds;

constexpr std::size_t most_lines = 64;
constexpr std::int64_t first_address = 1;
constexpr std::int64_t last_address = 247;

milliseconds read_age(const Cursor& at) {
  return milliseconds{at.integer(100, 60'000, "ms").value_or(1'000)};
}

std::uint32_t read_baud(const Cursor& at) {
  constexpr std::int64_t usual = 115'200;
  // What a UART can be relied on to do; 250000 is the speed of RS-485 lighting control lines.
  constexpr std::array<std::int64_t, 8> speeds{9'600,   19'200,  38'400,  57'600,
                                               115'200, 230'400, 250'000, 460'800};
  return static_cast<std::uint32_t>(
      at.integer_among(speeds, "a serial speed", "baud").value_or(usual));
}

// What reading a line needs besides its place in the file.
struct Around {
  const std::filesystem::path& state_dir;
  const LoadOptions& options;
  Documents& documents;
};

LineSetup read_serial(const Cursor& at, const Around& around) {
  const Object object{at, {"name", "kind", "device"}, {"baud", "reading_age_ms"}};
  SerialSetup setup;
  if (const auto device = object["device"].text(1, longest_path))
    setup.device = (around.state_dir / *device).lexically_normal();
  setup.baud = read_baud(object["baud"]);
  setup.reading_age = read_age(object["reading_age_ms"]);
  return setup;
}

LineSetup read_udp(const Cursor& at, const Around& around) {
  const Object object{at, {"name", "kind", "bind", "key_file"}, {"search_port", "reading_age_ms"}};
  UdpSetup setup;
  setup.bind = read_endpoint(object["bind"], 0).value_or(Endpoint{});
  const Cursor key_file = object["key_file"];
  if (const auto path = key_file.text(1, longest_path))
    setup.key = read_key((around.state_dir / *path).lexically_normal(), key_file, around.documents);
  if (const auto port = object["search_port"].integer(1, 65'535))
    setup.search_port = static_cast<std::uint16_t>(*port);
  setup.reading_age = read_age(object["reading_age_ms"]);
  return setup;
}

LineSetup read_simulated(const Cursor& at, const Around& around) {
  const Object object{
      at,
      {"name", "kind"},
      {"seed", "loss", "corrupt", "duplicate", "delay_ms", "script", "reading_age_ms"}};
  SimulatedSetup setup;
  constexpr std::int64_t largest_seed = 1'000'000'000'000;
  setup.seed = static_cast<std::uint64_t>(object["seed"].integer(0, largest_seed).value_or(1));
  setup.loss = object["loss"].real(0, 1, "").value_or(0.0);
  setup.corrupt = object["corrupt"].real(0, 1, "").value_or(0.0);
  setup.duplicate = object["duplicate"].real(0, 1, "").value_or(0.0);
  if (const Cursor at_delay = object["delay_ms"]; at_delay.present()) {
    const Object delay{at_delay, {"least", "most"}, {}};
    const auto least = delay["least"].integer(0, 10'000, "ms");
    const auto most = delay["most"].integer(0, 10'000, "ms");
    if (least && most && *most < *least)
      delay["most"].report("is below the least delay", std::to_string(*least) + " to 10000 ms");
    setup.delay_least = milliseconds{least.value_or(0)};
    setup.delay_most = milliseconds{most.value_or(0)};
  }
  for (const Cursor& line : object["script"].elements(0, 1'000))
    if (auto text = line.text(1, 200)) {
      if (around.options.script_error)
        if (const auto error = around.options.script_error(*text))
          line.report("is not a command of the simulation: " + *error, "");
      setup.script.push_back(std::move(*text));
    }
  setup.reading_age = read_age(object["reading_age_ms"]);
  return setup;
}

// In the order of line_kinds.
constexpr std::array<LineSetup (*)(const Cursor&, const Around&), line_kinds.size()> readers{
    read_serial, read_udp, read_simulated};

std::vector<std::string> words_of_kinds() {
  std::vector<std::string> words;
  for (const auto& kind : line_kinds) words.emplace_back(kind.word);
  return words;
}

}  // namespace

LineSection::LineSection(const Cursor& at, const std::filesystem::path& state_dir,
                         const LoadOptions& options, Documents& documents)
    : state_dir_{state_dir}, documents_{&documents} {
  const std::vector<Cursor> elements = at.elements(1, most_lines);
  incomplete_ = elements.empty();
  for (const Cursor& element : elements) read_line(element, state_dir, options, documents);
}

void LineSection::read_line(const Cursor& at, const std::filesystem::path& state_dir,
                            const LoadOptions& options, Documents& documents) {
  // Its kind decides which members a line has, so it is looked at before them.
  const auto kind = at.member_if_any("kind").index_of(words_of_kinds());
  const std::optional<std::string> name = at.member_if_any("name").name();
  if (name && once_.add(*name, at.member_if_any("name")))
    names_.push_back(*name);
  else
    incomplete_ = true;
  if (!kind) {
    if (!at.is_object() || !at.member_if_any("kind").present())
      Object{at, {"name", "kind"}, at.keys()};
    return;
  }
  auto setup = readers[*kind](at, {state_dir, options, documents});
  if (!name) return;
  std::visit([&](auto& line) { line.name = {*name}; }, setup);
  setups_.push_back(std::move(setup));
}

bool LineSection::is_simulated(const std::string& line) const {
  const auto* setup = find(line);
  return setup != nullptr && std::holds_alternative<SimulatedSetup>(*setup);
}

const LineSetup* LineSection::find(const std::string& line) const {
  const auto found = std::ranges::find_if(
      setups_, [&](const LineSetup& setup) { return name_of(setup).text == line; });
  return found == setups_.end() ? nullptr : &*found;
}

std::vector<std::uint8_t> LineSection::read_own_key(const Cursor& at, const LineKind& kind) {
  if (!at.present()) return {};
  if (!kind.is_open) {
    at.report("is given, but the line is simulated: nobody else can reach its nodes",
              "on serial and UDP lines only");
    return {};
  }
  const auto path = at.text(1, longest_path);
  return path ? read_key((state_dir_ / *path).lexically_normal(), at, *documents_)
              : std::vector<std::uint8_t>{};
}

void LineSection::add_node(const Object& node, std::optional<NodeUid> uid,
                           const std::string& line) {
  const auto* found = find(line);
  if (found == nullptr) return;
  const auto& kind = kind_of(*found);
  const bool by_endpoint = kind.by_endpoint;
  const std::string needed = by_endpoint ? "endpoint" : "address";
  const std::string other = by_endpoint ? "address" : "endpoint";
  if (!node[needed].present())
    node.at().report_about(in_quotes(needed) + " is missing, since the line " + in_quotes(line) +
                               (by_endpoint ? " is a UDP line" : " has addressed nodes"),
                           by_endpoint ? std::string{endpoint_rule} : "1 to 247");
  node[other].report("is given, but the line " + in_quotes(line) +
                         (by_endpoint ? " is a UDP line" : " has addressed nodes"),
                     "the member " + in_quotes(needed) + " instead");
  NodeOnLine on_line;
  if (by_endpoint) {
    on_line.endpoint = read_endpoint(node[needed], 1);
  } else if (const auto address = node[needed].integer(first_address, last_address)) {
    addresses_[line].add(*address, node[needed]);
    on_line.address = static_cast<std::uint8_t>(*address);
  }
  on_line.key = read_own_key(node["key_file"], kind);
  if (!uid) return;
  on_line.uid = *uid;
  std::visit([&](auto& each) { each.nodes.push_back(on_line); },
             setups_[static_cast<std::size_t>(found - setups_.data())]);
}

}  // namespace catwalk::config
