// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_options.hpp"

#include <algorithm>
#include <asio/ip/address.hpp>
#include <charconv>

#include "daemon/base/text.hpp"
#include "drivers/line/bad_word.hpp"
#include "drivers/node/node_actions.hpp"

namespace catwalk::drivers {
namespace {

using protocol::Address;
using protocol::NodeUid;

constexpr std::size_t most_nodes = 4096;

template <class T>
std::optional<T> parse_integer(std::string_view text, T lowest, T highest) {
  T value{};
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  if (value < lowest || value > highest) return std::nullopt;
  return value;
}

std::optional<HostPort> parse_host_port(std::string_view text, std::uint16_t lowest_port) {
  const std::size_t colon = text.rfind(':');
  if (colon == std::string_view::npos) return std::nullopt;
  std::string host{text.substr(0, colon)};
  if (host.size() > 2 && host.front() == '[' && host.back() == ']') {
    host = host.substr(1, host.size() - 2);
  }
  const auto port =
      parse_integer<std::uint16_t>(text.substr(colon + 1), lowest_port, std::uint16_t{65'535});
  asio::error_code error;
  asio::ip::make_address(host, error);
  if (error || !port) return std::nullopt;
  return HostPort{host, *port};
}

// UID[@ADDRESS][,type=NAME][,label=TEXT][,key-file=FILE]
Result<NodeSpec, std::string> parse_node(std::string_view text, const NodeType& usual) {
  NodeSpec node;
  node.type = usual;
  const std::size_t comma = std::min(text.find(','), text.size());
  std::string_view name = text.substr(0, comma);
  const std::size_t at = name.find('@');
  if (at != std::string_view::npos) {
    const auto address =
        parse_integer<std::uint8_t>(name.substr(at + 1), Address::first, Address::last);
    if (!address) return bad("--node address", name.substr(at + 1), "1 to 247");
    node.address = Address{*address};
    name = name.substr(0, at);
  }
  const auto uid = NodeUid::parse(name);
  if (!uid || *uid == NodeUid::everyone()) {
    return bad("--node", name, "a uid such as 7a10-0000002f");
  }
  node.uid = *uid;
  std::string_view rest = text.substr(comma);
  while (!rest.empty()) {
    rest.remove_prefix(1);
    const std::size_t end = std::min(rest.find(','), rest.size());
    const std::string_view part = rest.substr(0, end);
    rest = rest.substr(end);
    if (part.starts_with("type=")) {
      const auto type = built_in_type(part.substr(5));
      if (!type) return bad("--node type", part.substr(5), built_in_type_names());
      node.type = *type;
    } else if (part.starts_with("label=")) {
      node.label = part.substr(6);
      if (node.label.size() > protocol::longest_label || !is_plain_text(node.label)) {
        return bad("--node label", node.label, "up to 16 bytes of UTF-8");
      }
    } else if (part.starts_with("key-file=")) {
      node.key_file = part.substr(9);
    } else {
      return bad("--node part", part, "type=NAME, label=TEXT or key-file=FILE");
    }
  }
  return node;
}

// Options that only make sense once all are read.
struct Raw {
  NodeOptions options;
  std::vector<std::string_view> nodes;
  std::optional<std::size_t> count;
  NodeUid first_uid{0x7a10, 1};
  std::string_view type = "tern-inline";
};

// What is wrong with the value; nothing: it is taken.
using Complaint = std::optional<std::string>;

struct Option {
  OptionInfo info;
  Complaint (*take)(Raw& raw, std::string_view option, std::string_view value);
};

Complaint take_wire(Raw& raw, std::string_view option, std::string_view value) {
  const auto fault = parse_action(std::string{option.substr(2)} + " " + std::string{value});
  if (!fault) return std::string{"--"} + fault.error();
  change(raw.options.faults, std::get<ChangeFaults>(*fault));
  return std::nullopt;
}

// `member`: where the text is kept.
template <auto member>
Complaint take_text(Raw& raw, std::string_view /*option*/, std::string_view value) {
  raw.options.*member = std::string{value};
  return std::nullopt;
}

template <auto member>
Complaint take_flag(Raw& raw, std::string_view /*option*/, std::string_view /*value*/) {
  raw.options.*member = true;
  return std::nullopt;
}

Complaint take_baud(Raw& raw, std::string_view option, std::string_view value) {
  const auto baud = parse_integer<std::uint32_t>(value, 1'200, 4'000'000);
  if (!baud) return bad(option, value, "1200 to 4000000").error;
  raw.options.baud = *baud;
  return std::nullopt;
}

Complaint take_udp(Raw& raw, std::string_view option, std::string_view value) {
  raw.options.udp = parse_host_port(value, 0);
  if (!raw.options.udp) return bad(option, value, "ADDRESS:PORT, port 0 for any").error;
  return std::nullopt;
}

Complaint take_report_to(Raw& raw, std::string_view option, std::string_view value) {
  raw.options.report_to = parse_host_port(value, 1);
  if (!raw.options.report_to) return bad(option, value, "ADDRESS:PORT").error;
  return std::nullopt;
}

Complaint take_node(Raw& raw, std::string_view /*option*/, std::string_view value) {
  raw.nodes.push_back(value);
  return std::nullopt;
}

Complaint take_count(Raw& raw, std::string_view option, std::string_view value) {
  raw.count = parse_integer<std::size_t>(value, 1, most_nodes);
  if (!raw.count) return bad(option, value, "1 to 4096").error;
  return std::nullopt;
}

Complaint take_first_uid(Raw& raw, std::string_view option, std::string_view value) {
  const auto uid = NodeUid::parse(value);
  if (!uid) return bad(option, value, "a uid such as 7a10-0000002f").error;
  raw.first_uid = *uid;
  return std::nullopt;
}

Complaint take_type(Raw& raw, std::string_view /*option*/, std::string_view value) {
  raw.type = value;
  return std::nullopt;
}

Complaint take_seed(Raw& raw, std::string_view option, std::string_view value) {
  const auto seed = parse_integer<std::uint64_t>(value, 0, UINT64_MAX);
  if (!seed) return bad(option, value, "0 to 18446744073709551615").error;
  raw.options.seed = *seed;
  return std::nullopt;
}

constexpr Option known_options[]{
    {{"--serial", "DEVICE", "serve on a serial device"}, take_text<&NodeOptions::serial>},
    {{"--pty", "", "serve on a pseudo-terminal, and print its path"}, take_flag<&NodeOptions::pty>},
    {{"--link", "PATH", "a symbolic link to the pseudo-terminal"}, take_text<&NodeOptions::link>},
    {{"--baud", "N", "of the serial device (115200)"}, take_baud},
    {{"--udp", "ADDRESS:PORT",
      "serve on a UDP port; port 0 for any, and print it. Searches are heard at that port: those "
      "of the group 239.192.67.87 and of the network's broadcast address; bound to 0.0.0.0, those "
      "of every network"},
     take_udp},
    {{"--key-file", "FILE",
      "the shared key, as hexadecimal digits; needed with --udp; on a serial line it lets nodes be "
      "reclaimed"},
     take_text<&NodeOptions::key_file>},
    {{"--report-to", "ADDRESS:PORT", "where reports go until a controller was heard"},
     take_report_to},
    {{"--node", "UID[@ADDRESS][,type=NAME][,label=TEXT][,key-file=FILE]",
      "a node, with a key of its own if it has one; may be repeated"},
     take_node},
    {{"--count", "N", "so many nodes more, at addresses from 1"}, take_count},
    {{"--first-uid", "UID", "the first of them (7a10-00000001)"}, take_first_uid},
    {{"--type", "NAME",
      "tern-inline (usual), gull-integral, plover-fixed; heron-sum and dunlin-select are matrices"},
     take_type},
    {{"--state", "FILE",
      "keeps boots, epoch, address and stored settings, so that a killed and restarted process "
      "behaves as a node that lost its power"},
     take_text<&NodeOptions::state_file>},
    {{"--loss", "CHANCE", "so many of what travels are lost, in both directions: 0 to 1"},
     take_wire},
    {{"--corrupt", "CHANCE", "so many have a byte that is another"}, take_wire},
    {{"--duplicate", "CHANCE", "so many come twice"}, take_wire},
    {{"--delay", "MIN..MAX", "so late they come: 2ms..20ms"}, take_wire},
    {{"--seed", "N", "of these faults; the same for the same seed"}, take_seed},
    {{"--help", "", "this text"}, take_flag<&NodeOptions::help>},
    {{"--version", "", "which catwalk-node this is: number, commit, how it was built"},
     take_flag<&NodeOptions::version>},
    {{"--licences", "", "what others have made that is in it, and their licences"},
     take_flag<&NodeOptions::licences>},
};

std::optional<std::string> add_nodes(Raw& raw) {
  const auto usual = built_in_type(raw.type);
  if (!usual) return bad("--type", raw.type, built_in_type_names()).error;
  auto& nodes = raw.options.nodes;
  for (const std::string_view text : raw.nodes) {
    auto node = parse_node(text, *usual);
    if (!node) return node.error();
    nodes.push_back(*std::move(node));
  }
  for (std::size_t i = 0; i < raw.count.value_or(0); ++i) {
    NodeSpec node;
    node.uid = NodeUid::from_bits(raw.first_uid.bits() + i);
    node.type = *usual;
    if (i < Address::last) node.address = Address{static_cast<std::uint8_t>(i + 1)};
    nodes.push_back(std::move(node));
  }
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (nodes[i].uid == nodes[j].uid) return "node " + nodes[i].uid.text() + " is given twice";
      if (nodes[i].address.is_assignable() && nodes[i].address == nodes[j].address) {
        return "address " + std::to_string(nodes[i].address.value) + " is given twice";
      }
    }
  }
  return std::nullopt;
}

std::optional<std::string> contradiction(const NodeOptions& options) {
  if (options.nodes.empty()) return "no nodes: give --node or --count";
  if (!options.serial && !options.pty && !options.udp) {
    return "nothing to serve on: give --serial, --pty or --udp";
  }
  if (options.serial && options.pty) return "--serial and --pty exclude each other";
  if (options.link && !options.pty) return "--link goes with --pty";
  if (options.udp && !options.key_file) return "--udp needs --key-file";
  if (options.report_to && !options.udp) return "--report-to goes with --udp";
  return std::nullopt;
}

}  // namespace

Result<NodeOptions, std::string> parse_node_options(const std::vector<std::string_view>& words) {
  Raw raw;
  for (std::size_t i = 0; i < words.size(); ++i) {
    const std::string_view word = words[i];
    const auto option =
        std::ranges::find(known_options, word, [](const Option& known) { return known.info.name; });
    if (option == std::end(known_options))
      return Failure{"option " + quoted(word) + " is unknown; see --help"};
    const bool takes = !option->info.value.empty();
    if (takes && i + 1 == words.size()) return Failure{std::string{word} + " needs a value"};
    const std::string_view value = takes ? words[++i] : std::string_view{};
    if (auto error = option->take(raw, word, value)) return Failure{*std::move(error)};
    if (raw.options.help || raw.options.version || raw.options.licences) return raw.options;
  }
  if (auto error = add_nodes(raw)) return Failure{*std::move(error)};
  if (auto error = contradiction(raw.options)) return Failure{*std::move(error)};
  return std::move(raw.options);
}

std::vector<OptionInfo> node_option_infos() {
  std::vector<OptionInfo> options;
  for (const auto& option : known_options) options.push_back(option.info);
  return options;
}

const std::string_view node_commands_help =
    R"(knob UID gain|filter|centre|power VALUE     by hand at the node: dB, index, MHz, on|off;
                                            the unit may stand behind: 6dB, 566.125MHz
power UID on|off                            its supply; on: it starts anew
silence UID on|off                          as with its cable cut
refuse UID REASON|none                      refuses what would change it
slow UID DURATION                           says Wait for so long
lie UID SEED|off                            says what no honest node says
reboot UID
detector UID DBM
route UID OUTPUT INPUTS                     of a matrix, by hand: 1+3, or none
trim UID INPUT DB                           likewise
supply UID INPUT VOLTS|off                  likewise
plug UID INPUT NODE|none                    whose cable ends in its input: it feeds that node, and
                                            one that is not emulated here draws 120 mA
short UID INPUT on|off                      of the supply there
level UID INPUT DBM                         what comes in there
show UID                                    what it is at, in the same units
loss|corrupt|duplicate CHANCE, delay MIN..MAX
help, quit                                  UID may be "all"
)";

std::string node_usage() {
  constexpr std::size_t help_column = 23;
  std::string text = "catwalk-node: one or many emulated antenna amplifiers and matrices\n\n";
  for (const auto& option : known_options) text += help_row(option.info, help_column);
  text += R"(
Prints "pty PATH", "udp ADDRESS:PORT" and then "ready". Runs until SIGTERM or SIGINT, the end of
standard input does not end it. Commands on standard input, each answered "ok" or "error: …":

)";
  text += node_commands_help;
  return text + "\nExit codes: 0 ended as told, 1 failed, 2 used wrongly.\n";
}

}  // namespace catwalk::drivers
