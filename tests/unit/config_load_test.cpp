// SPDX-License-Identifier: Apache-2.0
// Whole racks: the one of the tests, and the ones that we ship.

#include <algorithm>
#include <filesystem>

#include "config/band_file.hpp"
#include "tests/support/routed_in.hpp"
#include "tests/unit/config/files.hpp"

namespace catwalk::config {
namespace {

// The disk, and a key where the demo puts its own.
std::variant<SourceFile, Unreadable> disk_with_demo_key(const std::filesystem::path& path) {
  if (path.filename() == "quay-net.key") return SourceFile{.text = some_key};
  return read_from_disk(path);
}

Loaded load_shipped(const std::string& name) {
  return load_from(disk_with_demo_key, source_dir + "/config/demo/" + name);
}

TEST_CASE("the small rack is read as it is written") {
  const Loaded loaded = load_text(base_files(), "rack.json");
  CHECK(texts_of(loaded.problems).empty());
  REQUIRE(loaded.rack);
  const plan::RackPlan& plan = loaded.rack->plan;
  CHECK(plan.name == "jetty");
  CHECK(plan.region == "harbour");
  REQUIRE(plan.nodes.size() == 3);
  CHECK(plan.nodes[0].uid == NodeUid{0x7a10, 1});
  CHECK(plan.nodes[0].line.text == "bus");
  CHECK(plan.nodes[0].on_return == plan::OnReturn::hold);
  CHECK(plan.nodes[0].gain_limits->highest == rf::Gain::decibels(10));
  CHECK(plan.nodes[0].datasheet == plan.nodes[1].datasheet);
  CHECK(plan.nodes[0].datasheet->filters.at(0).tuning->step == rf::Frequency::kilohertz(25));
  CHECK(plan.nodes[0].datasheet->filters.at(1).width == rf::Frequency::kilohertz(130'000));
  REQUIRE(plan.segments.size() == 2);
  const plan::Segment& start = plan.segments[0];
  CHECK(start.carriers.at(0).frequency == rf::Frequency::kilohertz(518'025));
  CHECK(start.carriers.at(0).receivers == std::vector{plan::ReceiverName{"speech"}});
  CHECK(start.carriers.at(1).erp == rf::PowerLevel::dbm(17));
  CHECK(start.lanes.at(1).why == "broadcast");
  const plan::SettingsPatch& mast = start.settings.at({"mast"});
  CHECK(mast.gain == rf::Gain::decibels(6));
  CHECK(mast.centre == rf::Frequency::kilohertz(526'025));
  CHECK_FALSE(mast.power);
  CHECK(plan.bands.rows.at(0).power->kind == plan::PowerKind::erp);
  CHECK(plan.bands.rows.at(0).protects == "the harbour radio");
}

TEST_CASE("lines come in the order of the file, each with the nodes on it") {
  const RackFile rack = rack_of(base_files());
  const auto& lines = rack.lines;
  REQUIRE(lines.size() == 3);
  const auto& bus = std::get<SerialSetup>(lines[0]);
  CHECK(bus.device == "/dev/ttyUSB0");
  CHECK(bus.nodes ==
        std::vector<NodeOnLine>{{.uid = {0x7a10, 1}, .address = 1, .endpoint = {}, .key = {}}});
  const auto& net = std::get<UdpSetup>(lines[1]);
  CHECK(net.bind == parse_endpoint("127.0.0.1:0", 0));
  CHECK(net.nodes.at(0).endpoint == parse_endpoint("127.0.0.1:47311"));
  const auto& bench = std::get<SimulatedSetup>(lines[2]);
  CHECK(bench.loss == 0.02);
  CHECK(bench.delay_most == std::chrono::milliseconds{12});
  CHECK(bench.reading_age == std::chrono::milliseconds{1'000});
  CHECK(bench.nodes.at(0).address == 3);
}

TEST_CASE("what is left out has its default") {
  Files files = base_files();
  edit(files, "rack.json", "    \"host\": \"127.0.0.1\",\n    \"port\": 8470\n", "");
  const RackFile rack = rack_of(files);
  CHECK(rack.server.host == "127.0.0.1");
  CHECK(rack.server.port == 8470);
  CHECK(rack.store.state_dir == "state");
  CHECK(rack.store.journal_kept == std::chrono::days{400});
  edit(files, "rack.json", "\"name\": \"jetty\"", "\"name\": \"jetty\", \"journal_days\": 3650");
  CHECK(load_text(files, "rack.json").rack->store.journal_kept == std::chrono::days{3'650});
}

TEST_CASE("a rack may listen to other machines with tokens and a reason for doing without TLS") {
  Files files = base_files();
  edit(files, "rack.json", "\"host\": \"127.0.0.1\"",
       "\"host\": \"0.0.0.0\", \"without_tls_because\": \"a network of its own\"");
  const RackFile rack = rack_of(files);
  CHECK(rack.server.without_tls_because == "a network of its own");
}

TEST_CASE("an IPv6 endpoint is written in brackets and kept without them") {
  Files files = base_files();
  edit(files, "rack.json", "127.0.0.1:47311", "[2001:db8::7]:47311");
  const RackFile rack = rack_of(files);
  CHECK(std::get<UdpSetup>(rack.lines[1]).nodes.at(0).endpoint ==
        parse_endpoint("[2001:db8::7]:47311", 0));
}

TEST_CASE("references count from the rack file, devices and keys from the state folder") {
  std::vector<std::string> asked;
  const Files files = base_files();
  const FileSource source =
      [&](const std::filesystem::path& path) -> std::variant<SourceFile, Unreadable> {
    asked.push_back(path.string());
    if (path.filename() == "net.key") return SourceFile{.text = some_key};
    return SourceFile{.text = files.at(path.filename().string())};
  };
  CHECK(load_from(source, "/etc/catwalk/rack.json").rack);
  CHECK(asked == std::vector<std::string>{"/etc/catwalk/rack.json", "/etc/catwalk/tern.json",
                                          "/etc/catwalk/plover.json", "/etc/catwalk/cables.json",
                                          "/etc/catwalk/state/net.key", "/etc/catwalk/bands.json",
                                          "/etc/catwalk/show.json"});
  asked.clear();
  const Loaded moved = load_from(source, "/etc/catwalk/rack.json",
                                 {.state_dir = "/var/lib/catwalk", .script_error = {}});
  REQUIRE(moved.rack);
  CHECK(moved.rack->store.state_dir == "/var/lib/catwalk");
  CHECK(asked.at(4) == "/var/lib/catwalk/net.key");
}

TEST_CASE("the simulation judges the lines of its script, and is quoted at each wrong one") {
  Files files = base_files();
  edit(files, "rack.json", "\"loss\": 0.02,", "\"script\": [\"at 1s good\",\n \"at 2s bad\"],");
  const FileSource source =
      [&](const std::filesystem::path& path) -> std::variant<SourceFile, Unreadable> {
    return SourceFile{.text = files.at(path.string())};
  };
  const Loaded loaded = load_from(source, "rack.json",
                                  {.state_dir = {}, .script_error = [](const std::string& line) {
                                     return line == "at 2s bad"
                                                ? std::optional<std::string>{"\"bad\" is no verb"}
                                                : std::nullopt;
                                   }});
  CHECK(texts_of(loaded.problems) ==
        std::vector<std::string>{"rack.json:15: /lines/2/script/1: \"at 2s bad\" is not a command "
                                 "of the simulation: \"bad\" is no verb"});
}

TEST_CASE("problems come file by file in the order of opening, and by line within a file") {
  Files files = base_files();
  edit(files, "rack.json", "\"port\": 8470", "\"port\": 70000");
  edit(files, "rack.json", "\"name\": \"jetty\"", "\"name\": \"\"");
  edit(files, "show.json", "\"gain_db\": 6", "\"gain_db\": 99");
  edit(files, "plover.json", "\"step\": 3", "\"step\": 5");
  std::vector<std::pair<std::string, std::size_t>> places;
  for (const Problem& problem : load_text(files, "rack.json").problems)
    places.emplace_back(problem.file, problem.line);
  CHECK(places == std::vector<std::pair<std::string, std::size_t>>{
                      {"rack.json", 3}, {"rack.json", 36}, {"plover.json", 4}, {"show.json", 23}});
}

TEST_CASE("a rack file that is not there is a problem of its own") {
  const Loaded loaded = load(source_dir + "/config/demo/no-such.rack.json");
  CHECK_FALSE(loaded.rack);
  CHECK(texts_of(loaded.problems) ==
        std::vector<std::string>{source_dir +
                                 "/config/demo/no-such.rack.json: cannot be read: No such file or "
                                 "directory; allowed: a file that can be read"});
}

TEST_CASE("the demo racks have no problems") {
  for (const char* name : {"harbour.rack.json", "bench.rack.json"}) {
    const Loaded loaded = load_shipped(name);
    CHECK(texts_of(loaded.problems).empty());
    REQUIRE(loaded.rack);
    CHECK(loaded.rack->plan.nodes.size() == 8);
    CHECK(loaded.rack->plan.matrices.size() == 1);
    CHECK(loaded.rack->plan.lines.size() == 3);
    CHECK(loaded.rack->plan.receivers.size() == 4);
    CHECK(loaded.rack->plan.segments.size() == 5);
    CHECK(loaded.rack->plan.region == "cept");
  }
}

TEST_CASE("the bench has the harbour's nodes and show, and no hardware") {
  const Loaded harbour = load_shipped("harbour.rack.json");
  const Loaded bench = load(source_dir + "/config/demo/bench.rack.json");
  REQUIRE(harbour.rack);
  REQUIRE(bench.rack);
  CHECK(bench.rack->plan.segments == harbour.rack->plan.segments);
  CHECK(bench.rack->plan.running_order == harbour.rack->plan.running_order);
  CHECK(bench.rack->plan.receivers == harbour.rack->plan.receivers);
  for (const plan::Node& node : harbour.rack->plan.nodes) {
    const plan::Node* twin = bench.rack->plan.find(node.name);
    REQUIRE(twin != nullptr);
    CHECK(twin->uid == node.uid);
    CHECK(*twin->datasheet == *node.datasheet);
    CHECK(twin->ends_at == node.ends_at);
  }
  REQUIRE(bench.rack->plan.matrices.size() == harbour.rack->plan.matrices.size());
  const auto& shore = harbour.rack->plan.matrices.front();
  CHECK(*bench.rack->plan.matrices.front().sheet == *shore.sheet);
  CHECK(bench.rack->plan.matrices.front().on_line->uid == shore.on_line->uid);
  for (const LineSetup& line : bench.rack->lines)
    CHECK(std::holds_alternative<SimulatedSetup>(line));
}

// The filter and centre that a segment wants of a node, as the band that they pass.
struct Window {
  rf::Band surely_passed;
  rf::Band perhaps_passed;
};
Window window_of(const plan::Node& node, const plan::SettingsPatch& wanted) {
  const auto index = node.datasheet->filter_index(wanted.filter.value());
  REQUIRE(index);
  const plan::Filter& filter = node.datasheet->filters[*index];
  const rf::Frequency centre = wanted.centre.value_or(rf::Frequency{});
  return {filter.surely_passed(centre), filter.perhaps_passed(centre)};
}

TEST_CASE("in every segment of the demo each antenna passes its microphones and nothing of ours") {
  const Loaded loaded = load_shipped("harbour.rack.json");
  REQUIRE(loaded.rack);
  std::size_t passed = 0;
  for (const plan::Segment& segment : loaded.rack->plan.segments) {
    const plan::RackPlan plan = test::routed_in(loaded.rack->plan, segment);
    CAPTURE(segment.name.text);
    CHECK(segment.settings.size() == plan.nodes.size());
    for (const plan::Node& node : plan.nodes) {
      CAPTURE(node.name.text);
      const Window window = window_of(node, segment.settings.at(node.name));
      for (const plan::Carrier& carrier : segment.carriers) {
        CAPTURE(carrier.name.text);
        if (carrier.use == plan::CarrierUse::transmit) {
          CHECK_FALSE(window.perhaps_passed.overlaps(carrier.band()));
          continue;
        }
        for (const plan::ReceiverName& name : carrier.receivers) {
          if (!plan::RackPlan::serves(*plan.find(name), node.name)) continue;
          CHECK(window.surely_passed.contains(carrier.band()));
          ++passed;
        }
      }
      for (const plan::Lane& lane : segment.lanes)
        if (lane.purpose != plan::LanePurpose::receive)
          CHECK_FALSE(window.perhaps_passed.overlaps(lane.band));
    }
  }
  CHECK(passed == 2 * (15 + 12 + 21 + 21 + 21));  // two branches for each microphone
}

TEST_CASE("the demo's running order goes through all segments, with a trigger of each kind") {
  const Loaded loaded = load_shipped("harbour.rack.json");
  REQUIRE(loaded.rack);
  const plan::RackPlan& plan = loaded.rack->plan;
  const auto& cues = plan.running_order.cues;
  REQUIRE(cues.size() == plan.segments.size());
  for (std::size_t i = 0; i < cues.size(); ++i) CHECK(cues[i].segment == plan.segments[i].name);
  CHECK(std::holds_alternative<plan::ByHand>(cues.at(0).trigger));
  CHECK(std::holds_alternative<plan::AtClock>(cues.at(1).trigger));
  CHECK(std::holds_alternative<plan::AfterSegment>(cues.at(2).trigger));
  CHECK(std::holds_alternative<plan::ByMessage>(cues.at(3).trigger));
  CHECK(loaded.rack->show_control);  // or nobody could send the message
}

TEST_CASE("in every segment of the demo each carrier lies in a lane of its use") {
  const Loaded loaded = load_shipped("harbour.rack.json");
  REQUIRE(loaded.rack);
  for (const plan::Segment& segment : loaded.rack->plan.segments) {
    CHECK(std::ranges::count(segment.lanes, plan::LanePurpose::closed, &plan::Lane::purpose) == 1);
    for (const plan::Carrier& carrier : segment.carriers) {
      CAPTURE(carrier.name.text);
      const auto purpose = carrier.use == plan::CarrierUse::receive ? plan::LanePurpose::receive
                                                                    : plan::LanePurpose::transmit;
      CHECK(std::ranges::any_of(segment.lanes, [&](const plan::Lane& lane) {
        return lane.purpose == purpose && lane.band.contains(carrier.band());
      }));
    }
  }
}

TEST_CASE("every shipped band table is read, and never says more than its sources") {
  std::size_t tables = 0;
  for (const auto& name : shipped_in("bands")) {
    CAPTURE(name);
    const plan::BandTable table = read_shipped(name, read_bands);
    CHECK("bands/" + table.region + ".json" == name);
    for (const plan::BandRow& row : table.rows) {
      CAPTURE(row.id);
      CHECK(row.basis);
      if (row.power) CHECK(row.power->basis);
      const bool read_in_full =
          row.basis == plan::BandBasis::read || row.basis == plan::BandBasis::secondary;
      if (!read_in_full) CHECK(row.status == plan::BandStatus::check_with_regulator);
      // Who notes that a figure is from memory does not call it read.
      const bool remembered = row.power && row.note.find("power memory") != std::string::npos;
      if (remembered) CHECK(row.power->basis == plan::BandBasis::memory);
      CHECK(row.as_of.find("2026-11-25") != std::string::npos);
    }
    ++tables;
  }
  CHECK(tables == 9);
}

// 47 CFR 73.603(c): channel 37, 608 to 614 MHz, is reserved exclusively for radio astronomy.
TEST_CASE("the United States' table closes the radio astronomy channel") {
  const plan::BandTable table = read_shipped("bands/us.json", read_bands);
  const rf::Band channel_37{rf::Frequency::kilohertz(608'000), rf::Frequency::kilohertz(614'000)};
  std::size_t rows = 0;
  for (const plan::BandRow& row : table.rows) {
    if (!row.band.overlaps(channel_37)) continue;
    CHECK(row.status == plan::BandStatus::closed);
    CHECK(row.protects.find("radio astronomy") != std::string::npos);
    ++rows;
  }
  CHECK(rows == 2);  // everywhere, and around the observatories of 47 CFR 95.1119
}

// 47 CFR 90.303 (2014): eleven of the thirteen areas are in use, Cleveland and Detroit are not.
TEST_CASE(
    "the land mobile row of the United States' table holds in eleven areas, channel by channel") {
  const plan::BandTable table = read_shipped("bands/us.json", read_bands);
  const auto row = std::ranges::find(table.rows, "us-tband", &plan::BandRow::id);
  REQUIRE(row != table.rows.end());
  REQUIRE(row->areas.size() == 11);
  const auto pittsburgh = std::ranges::find_if(
      row->areas, [](const plan::BandArea& area) { return area.name.starts_with("Pittsburgh"); });
  REQUIRE(pittsburgh != row->areas.end());
  // Channels 14 and 18.
  const auto megahertz = [](double low, double high) {
    return rf::Band{rf::Frequency::megahertz(low), rf::Frequency::megahertz(high)};
  };
  CHECK(pittsburgh->bands == std::vector{megahertz(470, 476), megahertz(494, 500)});
  CHECK(pittsburgh->centre.latitude == 40.438667);
}

TEST_CASE("where the rack stands is read, and may be left out") {
  auto files = base_files();
  const auto position_in = [&] {
    const auto loaded = load_text(files, "rack.json");
    REQUIRE(loaded.rack);
    return loaded.rack->plan.stands_at;
  };
  CHECK_FALSE(position_in());
  edit(files, "rack.json", "\"name\": \"jetty\",",
       "\"name\": \"jetty\", \"stands_at\": {\"latitude\": -33.86, \"longitude\": 151.2},");
  CHECK(position_in() == plan::Position{-33.86, 151.2});
}

}  // namespace
}  // namespace catwalk::config
