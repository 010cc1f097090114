// SPDX-License-Identifier: Apache-2.0
// Settings of matrices in the journal's file: they come back as they were, and what a hand or a bit
// has spoilt is not believed.
#include <functional>

#include "daemon/base/hex.hpp"
#include "daemon/rack/values/wire.hpp"
#include "daemon/store/open_store.hpp"
#include "protocol/matrix_codec.hpp"
#include "tests/support/matrix_rack.hpp"
#include "tests/support/store_fixture.hpp"

using namespace catwalk;
using namespace catwalk::test;
using namespace std::chrono_literals;

namespace {

const rack::TimePoint opened_at = std::chrono::sys_days{std::chrono::year{2026} / 8 / 14} + 20h;

// The largest that there can be, every field different from its neighbours.
plan::MatrixSettings full_settings() {
  plan::MatrixSettings settings;
  for (std::size_t output = 1; output <= plan::most_outputs; ++output) {
    plan::Inputs inputs;
    for (std::size_t input = 1; input <= output; ++input) inputs.push_back(input);
    settings.outputs.push_back(inputs);
  }
  for (std::size_t input = 1; input <= plan::most_inputs; ++input) {
    auto label = "input " + std::to_string(input);
    label.resize(longest_label, '.');
    settings.inputs.push_back({rf::Gain::centidecibels(-static_cast<std::int32_t>(input) * 25),
                               static_cast<std::uint16_t>(1'000 + input), label});
  }
  settings.label = "vöx \"1\" shore";
  return settings;
}

struct MatrixJournal {
  TemporaryFolder folder;
  std::filesystem::path file = folder.path() / "journal.sqlite";
  rack::Wanted wanted{shore_set({{1, 3}, {2}, {}}), 4};
  rack::Unfinished unfinished{41, uid(shore_uid), shore_set({{1}, {2}, {}}),
                              shore_set({{1, 3}, {2}, {}})};
  rack::UnfinishedSwitch switching{
      17,
      "speeches",
      "finale",
      "last",
      "Ana",
      "cue",
      {},
      false,
      0,
      0,
      {{uid(1), slide_at(1, 500), slide_at(2, 600)},
       {uid(shore_uid), shore_set({{1}, {}, {}}), shore_set({{}, {1}, {}})}}};

  void write() const {
    auto journal = open_journal(file);
    const std::vector<rack::Record> records{
        {1,
         {entry_no(1)},
         {rack::KeepWanted{uid(shore_uid), wanted}, rack::KeepWanted{uid(1), {slide_at(3, 518), 2}},
          rack::KeepUnfinished{unfinished}, rack::KeepSwitch{switching}}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  store::OpenedStore open() const {
    auto opened = store::open_store(file, opened_at);
    REQUIRE_MESSAGE(opened, (opened ? std::string{} : opened.error().sentence));
    return std::move(opened).value();
  }
};

}  // namespace

TEST_CASE("settings of either kind come back, wanted, unfinished and in a switch") {
  const MatrixJournal bench;
  bench.write();
  const auto restored = bench.open().restored;
  REQUIRE(restored.wanted.size() == 2);
  CHECK(restored.wanted.at(uid(shore_uid)) == bench.wanted);
  CHECK(restored.wanted.at(uid(1)) == rack::Wanted{slide_at(3, 518), 2});
  CHECK(restored.unfinished == std::vector{bench.unfinished});
  CHECK(restored.switching == bench.switching);
}

TEST_CASE("the largest matrix comes back as it was") {
  const MatrixJournal bench;
  const rack::Wanted full{full_settings(), 9'000'000'000};
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{{1, {}, {rack::KeepWanted{uid(shore_uid), full}}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  CHECK(bench.open().restored.wanted.at(uid(shore_uid)) == full);
}

TEST_CASE("what is wanted of a node of the other kind afterwards is all that is kept") {
  const MatrixJournal bench;
  bench.write();
  {
    auto journal = open_journal(bench.file);
    const std::vector<rack::Record> records{
        {1, {}, {rack::KeepWanted{uid(shore_uid), {slide_at(1, 500), 5}}}},
        {2, {}, {rack::KeepWanted{uid(1), {shore_set({{1}, {}, {}}), 3}}}}};
    REQUIRE_FALSE(journal.keep(records));
  }
  const auto restored = bench.open().restored;
  CHECK(restored.wanted.at(uid(shore_uid)) == rack::Wanted{slide_at(1, 500), 5});
  CHECK(restored.wanted.at(uid(1)) == rack::Wanted{shore_set({{1}, {}, {}}), 3});
}

TEST_CASE(
    "settings of a matrix that a hand or a bit has spoilt are set aside with what may stand") {
  const std::string allowed =
      "\"; allowed is nothing, or the settings of a matrix in hexadecimal digits";
  const auto longest = std::to_string(2 * protocol::largest_matrix_settings);
  struct Case {
    std::string sql, says;
  };
  // One input of 0 dB and 0 mV on one output, without labels.
  const auto tiny = [](const char* inputs, const char* outputs, const char* takes) {
    return std::string{"UPDATE wanted SET matrix = '"} + inputs + outputs + "00" + takes +
           "0000000000' WHERE matrix <> ''";
  };
  const auto wanted = [](const std::string& value) {
    return "UPDATE wanted SET matrix = " + value + " WHERE matrix <> ''";
  };
  for (const auto& [sql, says] : std::vector<Case>{
           {wanted("'zz'"), "in table wanted, matrix is \"zz" + allowed},
           {wanted("'0'"), "in table wanted, matrix is \"0" + allowed},
           {wanted("'00'"), "in table wanted, matrix is \"00" + allowed},
           {wanted("' '"), "in table wanted, matrix is \" " + allowed},
           {wanted("'no routes'"), "in table wanted, matrix is \"no routes" + allowed},
           {wanted("7"), "in table wanted, matrix is \"7" + allowed},
           {wanted("substr(matrix, 3)"), "in table wanted, matrix is \""},
           {wanted("substr(matrix, 1, length(matrix) - 2)"), "in table wanted, matrix is \""},
           {wanted("substr(matrix, 1, length(matrix) - 1)"), "in table wanted, matrix is \""},
           {wanted("matrix || '00'"), "in table wanted, matrix is \""},
           {wanted("matrix || matrix"), "in table wanted, matrix is \""},
           {wanted("x'0401'"), "allowed is text of at most " + longest + " bytes"},
           {wanted("printf('%.*c', " + longest + " + 1, '0')"),
            "allowed is text of at most " + longest + " bytes"},
           {tiny("00", "01", "00000000"), allowed},
           {tiny("21", "01", "00000000"), allowed},
           {tiny("01", "00", "00000000"), allowed},
           {tiny("01", "21", "00000000"), allowed},
           {tiny("01", "01", "00000002"), allowed},  // takes input 2 of one
           {"UPDATE unfinished SET before_matrix = 'zz'",
            "in table unfinished, before_matrix is \"zz" + allowed},
           {"UPDATE unfinished SET after_matrix = after_matrix || 'g0'",
            "in table unfinished, after_matrix is \""},
           {"UPDATE switching_nodes SET before_matrix = 'zz' WHERE place = 2",
            "in table switching_nodes, before_matrix is \"zz" + allowed},
           {"UPDATE switching_nodes SET target_matrix = 'zz'",
            "in table switching_nodes, target_matrix is \"zz" + allowed},
           {"ALTER TABLE wanted DROP COLUMN matrix", "table wanted has no column named matrix"},
           {"ALTER TABLE unfinished RENAME COLUMN after_matrix TO after",
            "table unfinished has no column named after_matrix"}}) {
    CAPTURE(sql);
    const MatrixJournal bench;
    bench.write();
    REQUIRE(by_hand(bench.file, sql) == "");
    const auto opened = bench.open();
    CAPTURE(opened.set_aside);
    CHECK(opened.set_aside.find(says) != std::string::npos);
    // Nothing of it is believed.
    CHECK(opened.restored.wanted.empty());
    CHECK(opened.restored.unfinished.empty());
    CHECK_FALSE(opened.restored.switching);
  }
}

TEST_CASE("the smallest settings that there can be are believed") {
  const MatrixJournal bench;
  bench.write();
  const auto smallest = protocol::encode(rack::to_wire(plan::MatrixSettings{{{}}, {{}}, ""}));
  REQUIRE(by_hand(bench.file, "UPDATE wanted SET matrix = '" + to_hex(smallest) +
                                  "' WHERE matrix <> ''") == "");
  const auto opened = bench.open();
  CHECK(opened.set_aside.empty());
  CHECK(opened.restored.wanted.at(uid(shore_uid)).settings ==
        plan::NodeSettings{plan::MatrixSettings{{{}}, {{}}, ""}});
}

TEST_CASE("labels of a matrix that a bit or a hand has spoilt come back plain") {
  const MatrixJournal bench;
  bench.write();
  auto spoilt = rack::to_wire(shore_set({{1}, {}, {}}));
  spoilt.label = "\x1B[2J";
  spoilt.inputs[1].label = "\xE1L";
  REQUIRE(by_hand(bench.file, "UPDATE wanted SET matrix = '" + to_hex(protocol::encode(spoilt)) +
                                  "' WHERE matrix <> ''") == "");
  const auto opened = bench.open();
  CHECK(opened.set_aside.empty());
  const auto* settings = opened.restored.wanted.at(uid(shore_uid)).settings.matrix();
  REQUIRE(settings != nullptr);
  CHECK(settings->label == "?[2J");
  CHECK(settings->inputs[1].label == "?L");
}
