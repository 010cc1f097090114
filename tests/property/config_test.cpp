// SPDX-License-Identifier: Apache-2.0
// Whatever happens to a file, the loader ends with a rack or with a reason, never with both.

#include <algorithm>
#include <random>

#include "config/exact_number.hpp"
#include "tests/unit/config/files.hpp"

namespace catwalk::config {
namespace {

const std::string source_dir = CATWALK_SOURCE_DIR;

// The demo, by the paths that its rack file refers to.
Files demo_files() {
  Files files;
  for (const char* name : {"demo/harbour.rack.json", "demo/harbour.show.json", "bands/cept.json",
                           "datasheets/tern-inline.json", "datasheets/gull-integral.json",
                           "datasheets/plover-fixed.json"})
    files[name] = read_whole(source_dir + "/config/" + name);
  files["demo/state/quay-net.key"] = some_key;
  return files;
}

// Where the words of a text begin and end, so that whole values are moved about and not only bytes.
std::vector<std::pair<std::size_t, std::size_t>> words_of(const std::string& text) {
  std::vector<std::pair<std::size_t, std::size_t>> words;
  const auto is_word = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' || c == '.' || c == '"';
  };
  for (std::size_t i = 0; i < text.size();) {
    if (!is_word(text[i])) {
      ++i;
      continue;
    }
    std::size_t end = i;
    while (end < text.size() && is_word(text[end])) ++end;
    words.emplace_back(i, end - i);
    i = end;
  }
  return words;
}

class Mutator {
 public:
  explicit Mutator(std::uint32_t seed) : random_{seed} {}

  void mutate(std::string& text) {
    const std::size_t edits = 1 + below(3);
    for (std::size_t i = 0; i < edits && !text.empty(); ++i) one_edit(text);
  }

  // One digit becomes another: the file stays JSON and is often still a rack.
  void change_a_digit(std::string& text) {
    std::size_t at = text.find_first_of("0123456789", below(text.size()));
    if (at != std::string::npos) text[at] = static_cast<char>('0' + below(10));
  }

 private:
  std::size_t below(std::size_t n) {
    return std::uniform_int_distribution<std::size_t>{0, n - 1}(random_);
  }

  void one_edit(std::string& text) {
    static const std::vector<std::string> values{
        "null", "true", "-1",    "0", "1e9",      "0.0000001", "\"\"",      "\"a\"",
        "[]",   "{}",   "99999", ",", "\"x\":1,", "/*",        "1e-999999", "\"\\ud800\""};
    switch (below(5)) {
      case 0:
        text[below(text.size())] = static_cast<char>(below(256));
        return;
      case 1:
        text.erase(below(text.size()), 1 + below(40));
        return;
      case 2:
        text.insert(below(text.size()), values[below(values.size())]);
        return;
      case 3: {
        const auto words = words_of(text);
        if (words.empty()) return;
        const auto [at, length] = words[below(words.size())];
        text.replace(at, length, values[below(values.size())]);
        return;
      }
      default: {
        const auto words = words_of(text);
        if (words.empty()) return;
        const auto [from, length] = words[below(words.size())];
        const auto [at, replaced] = words[below(words.size())];
        text.replace(at, replaced, text.substr(from, length));
        return;
      }
    }
  }

  std::mt19937 random_;
};

TEST_CASE("5000 mutations of the demo end with a rack or with problems, and never with both") {
  const Files whole = demo_files();
  REQUIRE(load_text(whole, "demo/harbour.rack.json").rack);
  const std::vector<std::string> mutable_files{"demo/harbour.rack.json", "demo/harbour.rack.json",
                                               "demo/harbour.show.json",
                                               "datasheets/tern-inline.json"};
  Mutator mutator{20'260'725};
  std::size_t racks = 0;
  std::size_t refused = 0;
  for (int i = 0; i < 5'000; ++i) {
    Files files = whole;
    const std::string& name = mutable_files[static_cast<std::size_t>(i) % mutable_files.size()];
    mutator.mutate(files[name]);
    const Loaded loaded = load_text(files, "demo/harbour.rack.json");
    CAPTURE(i);
    REQUIRE(loaded.rack.has_value() == loaded.problems.empty());
    (loaded.rack ? racks : refused) += 1;
    for (const Problem& problem : loaded.problems) {
      REQUIRE(!problem.file.empty());
      REQUIRE(!problem.message.empty());
      const std::string text = to_text(problem);
      REQUIRE(std::ranges::none_of(text, [](char c) { return c >= 0 && c < 0x20; }));
    }
    // The same files say the same.
    if (i % 50 == 0)
      REQUIRE(load_text(files, "demo/harbour.rack.json").problems == loaded.problems);
  }
  // Both happen often enough that neither half of the property is empty.
  CHECK(racks > 100);
  CHECK(refused > 1'000);
}

TEST_CASE("a rack that was accepted keeps every promise that its readers rely on") {
  const Files whole = demo_files();
  Mutator mutator{7};
  std::size_t racks = 0;
  for (int i = 0; i < 2'000; ++i) {
    Files files = whole;
    mutator.change_a_digit(files["demo/harbour.rack.json"]);
    mutator.change_a_digit(files["demo/harbour.show.json"]);
    mutator.change_a_digit(files["datasheets/tern-inline.json"]);
    const Loaded loaded = load_text(files, "demo/harbour.rack.json");
    if (!loaded.rack) continue;
    ++racks;
    const plan::RackPlan& plan = loaded.rack->plan;
    REQUIRE(!plan.segments.empty());
    REQUIRE(plan.lines.size() == loaded.rack->lines.size());
    std::size_t on_lines = 0;
    for (const LineSetup& line : loaded.rack->lines)
      on_lines += std::visit([](const auto& each) { return each.nodes.size(); }, line);
    REQUIRE(on_lines == plan.nodes.size());
    for (const plan::Node& node : plan.nodes) {
      REQUIRE(node.datasheet != nullptr);
      REQUIRE(std::ranges::count(plan.nodes, node.uid, &plan::Node::uid) == 1);
      REQUIRE(std::ranges::count(plan.nodes, node.name, &plan::Node::name) == 1);
      REQUIRE(std::ranges::find(plan.lines, node.line) != plan.lines.end());
    }
    for (const plan::Receiver& receiver : plan.receivers) {
      REQUIRE(!receiver.branches.empty());
      REQUIRE(receiver.branches.size() <= 2);
      for (const plan::Branch& branch : receiver.branches) {
        REQUIRE(!branch.nodes.empty());
        for (const plan::NodeName& name : branch.nodes) REQUIRE(plan.find(name) != nullptr);
      }
    }
    for (const plan::Segment& segment : plan.segments) {
      for (const plan::Carrier& carrier : segment.carriers) {
        REQUIRE(carrier.bandwidth > rf::Frequency{});
        REQUIRE((carrier.use == plan::CarrierUse::receive) == !carrier.receivers.empty());
        for (const plan::ReceiverName& name : carrier.receivers)
          REQUIRE(plan.find(name) != nullptr);
      }
      for (const auto& [name, wanted] : segment.settings) {
        const plan::Node* node = plan.find(name);
        REQUIRE(node != nullptr);
        if (!wanted.filter) continue;
        const auto filter = node->datasheet->filter_index(*wanted.filter);
        REQUIRE(filter);
        const auto& tuning = node->datasheet->filters[*filter].tuning;
        REQUIRE(tuning.has_value() == wanted.centre.has_value());
        if (tuning) {
          REQUIRE(tuning->reaches(*wanted.centre));
          REQUIRE(tuning->on_step(*wanted.centre));
        }
      }
    }
  }
  CHECK(racks > 200);
}

TEST_CASE("every exact number survives being written and read again") {
  std::mt19937_64 random{1};
  std::uniform_int_distribution<std::int64_t> numbers{-999'999'999'999'999, 999'999'999'999'999};
  for (int i = 0; i < 20'000; ++i) {
    const std::int64_t number = numbers(random) >> (i % 40);
    for (const int places : {0, 2, 3, 6}) {
      const Scaled again = scaled(decimal_text(number, places), places);
      REQUIRE(std::holds_alternative<std::int64_t>(again));
      REQUIRE(std::get<std::int64_t>(again) == number);
    }
  }
}

}  // namespace
}  // namespace catwalk::config
