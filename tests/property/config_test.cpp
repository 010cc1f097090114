// SPDX-License-Identifier: Apache-2.0
// Whatever happens to a file, the loader ends with a rack or with a reason, never with both.

#include <algorithm>
#include <cmath>
#include <iomanip>
#include <random>

#include "config/exact_number.hpp"
#include "daemon/plan/device.hpp"
#include "tests/support/share.hpp"
#include "tests/unit/config/files.hpp"

namespace catwalk::config {
namespace {

// The demo, by the paths that its rack file refers to.
Files demo_files() {
  Files files;
  for (const char* name :
       {"demo/harbour.rack.json", "demo/harbour.show.json", "bands/cept.json", "cables.json",
        "datasheets/tern-inline.json", "datasheets/gull-integral.json",
        "datasheets/plover-fixed.json", "datasheets/heron-sum.json"})
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

struct Fates {
  std::size_t racks = 0;
  std::size_t refused = 0;
};

// One of `names` after the other is mutated.
Fates load_mutations(const Files& whole, const std::string& rack,
                     const std::vector<std::string>& names, std::size_t count, std::uint32_t seed) {
  REQUIRE(load_text(whole, rack).rack);
  Mutator mutator{seed};
  Fates fates;
  for (std::size_t i = 0; i < count; ++i) {
    Files files = whole;
    mutator.mutate(files[names[i % names.size()]]);
    const Loaded loaded = load_text(files, rack);
    CAPTURE(i);
    REQUIRE(loaded.rack.has_value() == loaded.problems.empty());
    (loaded.rack ? fates.racks : fates.refused) += 1;
    for (const Problem& problem : loaded.problems) {
      REQUIRE(!problem.file.empty());
      REQUIRE(!problem.message.empty());
      const std::string text = to_text(problem);
      REQUIRE(std::ranges::none_of(text, [](char c) { return c >= 0 && c < 0x20; }));
    }
    // The same files say the same.
    if (i % 50 == 0) REQUIRE(load_text(files, rack).problems == loaded.problems);
  }
  return fates;
}

TEST_CASE("mutations of the demo end with a rack or with problems, and never with both") {
  const Fates fates = load_mutations(demo_files(), "demo/harbour.rack.json",
                                     {"demo/harbour.rack.json", "demo/harbour.rack.json",
                                      "demo/harbour.show.json", "datasheets/tern-inline.json"},
                                     test::share_of(5'000), 20'260'725);
  // Both happen often enough that neither half of the property is empty.
  CHECK(fates.racks > test::share_of(100U));
  CHECK(fates.refused > test::share_of(1'000U));
}

TEST_CASE("mutations of the small rack, which has one of everything, do so too") {
  const Fates fates =
      load_mutations(base_files(), "rack.json",
                     {"rack.json", "show.json", "tern.json", "plover.json", "cables.json"},
                     test::share_of(2'500), 11);
  CHECK(fates.racks > test::share_of(25U));
  CHECK(fates.refused > test::share_of(1'000U));
}

TEST_CASE("mutations of a rack behind a matrix do so too") {
  const Fates fates =
      load_mutations(matrix_files(), "rack.json", {"rack.json", "rack.json", "heron.json"},
                     test::share_of(2'500), 12);
  CHECK(fates.racks > test::share_of(25U));
  CHECK(fates.refused > test::share_of(1'000U));
}

TEST_CASE("a rack that was accepted keeps every promise that its readers rely on") {
  const Files whole = demo_files();
  Mutator mutator{7};
  std::size_t racks = 0;
  for (int i = 0; i < test::share_of(2'000); ++i) {
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
    REQUIRE(on_lines == plan::count_devices(plan));
    for (const plan::Node& node : plan.nodes) {
      REQUIRE(node.datasheet != nullptr);
      REQUIRE(std::ranges::count(plan.nodes, node.uid, &plan::Node::uid) == 1);
      REQUIRE(std::ranges::count(plan.nodes, node.name, &plan::Node::name) == 1);
      REQUIRE(std::ranges::find(plan.lines, node.line) != plan.lines.end());
    }
    for (const plan::Matrix& matrix : plan.matrices) {
      REQUIRE(matrix.sheet->fits(matrix.settings));
      REQUIRE(std::ranges::count(plan.nodes, matrix.name, &plan::Node::name) == 0);
      if (matrix.on_line)
        REQUIRE(std::ranges::count(plan.nodes, matrix.on_line->uid, &plan::Node::uid) == 0);
    }
    for (const plan::Receiver& receiver : plan.receivers) {
      REQUIRE(!receiver.branches.empty());
      REQUIRE(receiver.branches.size() <= 2);
      for (const plan::Branch& branch : receiver.branches) {
        REQUIRE(branch.nodes.empty() == branch.from.has_value());  // as it is described
        if (branch.from) REQUIRE(plan.find_matrix(branch.from->matrix) != nullptr);
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
  CHECK(racks > test::share_of(200U));
}

TEST_CASE("a running order that was accepted can be run, whatever happened to its text") {
  const Files whole = base_files();
  Mutator mutator{23};
  std::size_t racks = 0;
  std::size_t cues = 0;
  for (int i = 0; i < test::share_of(4'000); ++i) {
    Files files = whole;
    std::string& show = files["show.json"];
    std::string order = show.substr(show.find("\"running_order\""));
    if (i % 2 == 0)
      mutator.mutate(order);
    else
      mutator.change_a_digit(order);
    show.replace(show.find("\"running_order\""), std::string::npos, order);
    const Loaded loaded = load_text(files, "rack.json");
    if (!loaded.rack) continue;
    ++racks;
    const plan::RunningOrder& running = loaded.rack->plan.running_order;
    REQUIRE(running.arming_lasts >= std::chrono::seconds{10});
    REQUIRE(running.arming_lasts <= std::chrono::hours{24});
    std::vector<plan::SegmentName> earlier;
    for (const plan::Cue& cue : running.cues) {
      ++cues;
      REQUIRE(loaded.rack->plan.find(cue.segment) != nullptr);
      REQUIRE(std::ranges::count(running.cues, cue.name, &plan::Cue::name) == 1);
      if (const auto* after = std::get_if<plan::AfterSegment>(&cue.trigger)) {
        REQUIRE(std::ranges::find(earlier, after->segment) != earlier.end());
        REQUIRE(after->by >= std::chrono::seconds{0});
      } else if (const auto* clock = std::get_if<plan::AtClock>(&cue.trigger)) {
        REQUIRE(clock->time.of_day < std::chrono::hours{24});
        if (clock->time.date) REQUIRE(clock->time.date->ok());
        REQUIRE(clock->time.next(running.zone, std::chrono::sys_seconds{-std::chrono::days{2}}));
      } else if (const auto* message = std::get_if<plan::ByMessage>(&cue.trigger)) {
        REQUIRE(!message->text.empty());
      }
      earlier.push_back(cue.segment);
    }
  }
  CHECK(racks > test::share_of(500U));
  CHECK(racks < 3'500);
  CHECK(cues > racks);
}

bool rises(const std::vector<plan::BlockingPoint>& points) {
  return std::ranges::is_sorted(points, std::less_equal<>{}, &plan::BlockingPoint::offset);
}

void require_whole(const plan::Chain& chain) {
  for (const plan::ChainPart& part : chain) {
    if (const auto* cable = std::get_if<plan::CablePiece>(&part)) {
      REQUIRE(cable->type != nullptr);
      REQUIRE(cable->type->valid.low < cable->type->valid.high);
      REQUIRE(rf::cable_loss(*cable->type, cable->length, cable->type->valid.high));
      REQUIRE(rf::connectors_loss(cable->connectors, cable->connector_loss));
    } else if (const auto* splitter = std::get_if<plan::Splitter>(&part)) {
      REQUIRE(rf::splitter_loss(splitter->ways, splitter->excess_loss));
    } else if (const auto* amplifier = std::get_if<plan::RackAmplifier>(&part)) {
      REQUIRE(amplifier->output_p1db < amplifier->output_ip3);
    }
  }
}

TEST_CASE("what the physics will compute with can be computed with, whatever digits change") {
  const Files whole = base_files();
  Mutator mutator{13};
  std::size_t racks = 0;
  for (int i = 0; i < test::share_of(2'000); ++i) {
    Files files = whole;
    for (const char* name : {"rack.json", "show.json", "tern.json", "cables.json"})
      if (i % 2 == 0 || name[0] == 't') mutator.change_a_digit(files[name]);
    const Loaded loaded = load_text(files, "rack.json");
    if (!loaded.rack) continue;
    ++racks;
    const plan::RackPlan& plan = loaded.rack->plan;
    REQUIRE(plan.limits.lowest_chain_gain <= plan.limits.highest_chain_gain);
    for (const plan::Node& node : plan.nodes) {
      require_whole(node.lead);
      if (node.feed) require_whole(*node.feed);
      for (const plan::Filter& filter : node.datasheet->filters) {
        REQUIRE(filter.model != nullptr);
        if (const auto* tunable = std::get_if<rf::TunableFilter>(filter.model.get())) {
          const rf::Frequency middle = filter.fixed.low + filter.width / 2;
          REQUIRE(tunable->response(filter.tuning ? filter.tuning->lowest : middle));
          REQUIRE(tunable->response(filter.tuning ? filter.tuning->highest : middle));
        }
      }
    }
    for (const plan::Receiver& receiver : plan.receivers) {
      for (const plan::Branch& branch : receiver.branches) require_whole(branch.chain);
      if (receiver.input) {
        REQUIRE(receiver.input->sensitivity < receiver.input->overload);
        REQUIRE(rises(receiver.input->blocking));
      }
    }
    for (const plan::Segment& segment : plan.segments) {
      for (const plan::Carrier& carrier : segment.carriers) {
        REQUIRE(carrier.nearest.has_value() == carrier.farthest.has_value());
        if (carrier.nearest) REQUIRE(*carrier.nearest <= *carrier.farthest);
        for (const auto& [name, isolation] : carrier.isolations)
          REQUIRE(plan.find(name) != nullptr);
      }
    }
  }
  CHECK(racks > test::share_of(500U));
}

// Responses at random, most of them between sound and absurd.
class Responses {
 public:
  explicit Responses(std::uint32_t seed) : random_{seed} {}

  double between(double low, double high) {
    return std::uniform_real_distribution<double>{low, high}(random_);
  }
  int whole(int low, int high) { return std::uniform_int_distribution<int>{low, high}(random_); }

  std::string next() {
    std::ostringstream text;
    text << std::fixed << std::setprecision(4) << "\"shape\": \""
         << (whole(0, 1) == 0 ? "butterworth" : "chebyshev") << "\", \"order\": " << whole(1, 15)
         << ", \"edge_loss_db\": " << std::pow(10.0, between(-3, 1));
    const int points = whole(0, 4);
    if (points == 0) {
      text << ", \"loss_db\": " << between(0, 20);
      return text.str();
    }
    text << ", \"tuning\": [";
    double centre = between(100, 500);
    for (int i = 0; i < points; ++i, centre += between(1, 400))
      text << (i > 0 ? ", " : "") << "{\"centre_mhz\": " << centre
           << ", \"width_mhz\": " << centre * std::pow(10.0, between(-2, 0.2))
           << ", \"loss_db\": " << 20 * std::pow(between(0, 1), 2) << "}";
    text << "]";
    return text.str();
  }

 private:
  std::mt19937 random_;
};

TEST_CASE("a filter that was accepted can be tuned to every centre of its range") {
  const Files whole = base_files();
  Responses responses{17};
  std::size_t accepted = 0;
  std::size_t refused = 0;
  for (int i = 0; i < test::share_of(1'500); ++i) {
    Files files = whole;
    const std::string response = responses.next();
    CAPTURE(response);
    edit(files, "tern.json", "\"lowest_centre_mhz\": 430",
         "\"lowest_centre_mhz\": " + std::to_string(responses.whole(60, 430)));
    edit(files, "tern.json",
         "\"shape\": \"chebyshev\", \"order\": 3, \"edge_loss_db\": 0.5, \"tuning\": "
         "[{\"centre_mhz\": 430, \"width_mhz\": 40, \"loss_db\": 1.1}, "
         "{\"centre_mhz\": 700, \"width_mhz\": 44, \"loss_db\": 1.6}]",
         response);
    const Loaded loaded = load_text(files, "rack.json");
    if (!loaded.rack) {
      ++refused;
      continue;
    }
    ++accepted;
    const plan::Filter& filter = loaded.rack->plan.nodes.at(0).datasheet->filters.at(0);
    const auto& tunable = std::get<rf::TunableFilter>(*filter.model);
    for (int j = 0; j <= 40; ++j) {
      const rf::Frequency centre =
          filter.tuning->lowest + j * ((filter.tuning->highest - filter.tuning->lowest) / 40);
      REQUIRE(tunable.response(centre));
    }
  }
  CHECK(accepted > test::share_of(150U));
  CHECK(refused > test::share_of(150U));
}

TEST_CASE("every exact number survives being written and read again") {
  std::mt19937_64 random{1};
  std::uniform_int_distribution<std::int64_t> numbers{-999'999'999'999'999, 999'999'999'999'999};
  for (int i = 0; i < test::share_of(20'000); ++i) {
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
