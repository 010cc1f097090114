// SPDX-License-Identifier: Apache-2.0
// What the files say for the physics: chains, cables, filter responses, receiver inputs, distances.

#include "config/cable_file.hpp"
#include "config/datasheet_file.hpp"
#include "config/matrix_file.hpp"
#include "tests/unit/config/files.hpp"

namespace catwalk::config {
namespace {

const plan::Filter& first_filter(const RackFile& rack, std::size_t node) {
  return rack.plan.nodes.at(node).datasheet->filters.at(0);
}
plan::TunedFilter tuned_to(std::int64_t kilohertz, const plan::Filter& filter) {
  return plan::TunedFilter::make(*filter.model, rf::Frequency::kilohertz(kilohertz)).value();
}
rf::Decibel at(std::int64_t kilohertz, const plan::TunedFilter& filter) {
  return filter.attenuation(rf::Frequency::kilohertz(kilohertz));
}

TEST_CASE("a chain is read piece by piece, each piece with its defaults") {
  const RackFile rack = rack_of(base_files());
  const plan::RackPlan& plan = rack.plan;
  const plan::Node& buoy = plan.nodes.at(2);
  REQUIRE(buoy.lead.size() == 1);
  const auto& lead = std::get<plan::CablePiece>(buoy.lead[0]);
  CHECK(lead.type->name == "RG-58");
  CHECK(lead.type->k2 == 0.012369);
  CHECK(lead.type->valid ==
        rf::Band{rf::Frequency::kilohertz(10'000), rf::Frequency::kilohertz(1'350'000)});
  CHECK(lead.length == rf::Metres::of(2));
  CHECK(lead.connectors == 2);
  CHECK(lead.connector_loss == plan::usual_connector_loss);
  REQUIRE(buoy.feed);
  REQUIRE(buoy.feed->size() == 2);
  const auto& feed = std::get<plan::CablePiece>(buoy.feed->at(0));
  CHECK(feed.connectors == 4);
  CHECK(feed.connector_loss == rf::Decibel::of(0.2));
  CHECK(buoy.feed->at(1) == plan::ChainPart{plan::FixedLoss{"patch panel", rf::Decibel::of(1.5)}});
  // An absent feed is not known; an absent lead is none.
  CHECK(plan.nodes.at(0).lead.empty());
  CHECK_FALSE(plan.nodes.at(0).feed);

  const plan::Branch& branch = plan.receivers.at(1).branches.at(0);
  CHECK(branch.nodes == std::vector{plan::NodeName{"buoy"}, plan::NodeName{"crane"}});
  CHECK(branch.combiner_excess_loss == rf::Decibel::of(0.7));
  REQUIRE(branch.chain.size() == 2);
  CHECK(branch.chain[0] ==
        plan::ChainPart{plan::Splitter{"4-way splitter", 4, rf::Decibel::of(0.6)}});
  CHECK(branch.chain[1] == plan::ChainPart{plan::RackAmplifier{
                               "line amplifier", rf::Decibel::of(9), rf::Decibel::of(5),
                               rf::PowerLevel::dbm(19), rf::PowerLevel::dbm(37)}});
  CHECK(plan.receivers.at(0).branches.at(0) ==
        plan::Branch{.nodes = {plan::NodeName{"mast"}}, .combiner_excess_loss = {}, .chain = {}});
}

TEST_CASE("pieces of one type of cable share it") {
  Files files = base_files();
  edit(files, "rack.json", "{\"loss_db\": 1.5, \"name\": \"patch panel\"}",
       "{\"cable\": \"RG-213\", \"length_m\": 0, \"connectors\": 0}");
  const RackFile rack = rack_of(files);
  const plan::Chain& feed = *rack.plan.nodes.at(2).feed;
  CHECK(std::get<plan::CablePiece>(feed.at(0)).type == std::get<plan::CablePiece>(feed.at(1)).type);
}

TEST_CASE("an empty feed is a node that stands at its receiver") {
  Files files = base_files();
  edit(files, "rack.json", "\"antenna_gain_dbi\": 6.5,",
       "\"antenna_gain_dbi\": 6.5, \"feed\": [],");
  const RackFile rack = rack_of(files);
  REQUIRE(rack.plan.nodes.at(1).feed);
  CHECK(rack.plan.nodes.at(1).feed->empty());
}

TEST_CASE("antennas, receivers, limits and carriers are read with what is known of them") {
  const RackFile rack = rack_of(base_files());
  const plan::RackPlan& plan = rack.plan;
  CHECK(plan.nodes.at(1).antenna_gain == rf::Decibel::of(6.5));
  CHECK(plan.nodes.at(1).place == plan::Place{12, -3.5, 8});
  CHECK_FALSE(plan.nodes.at(0).antenna_gain);
  CHECK_FALSE(plan.nodes.at(0).place);

  CHECK_FALSE(plan.receivers.at(0).input);
  REQUIRE(plan.receivers.at(1).input);
  const plan::ReceiverInput& input = *plan.receivers.at(1).input;
  CHECK(input.noise_figure == rf::Decibel::of(8));
  CHECK(input.sensitivity == rf::PowerLevel::dbm(-95));
  CHECK(input.overload == rf::PowerLevel::dbm(-20));
  CHECK(input.input_ip3 == rf::PowerLevel::dbm(-5));
  CHECK(input.protection_ratio == rf::Decibel::of(20));
  CHECK(input.blocking ==
        std::vector<plan::BlockingPoint>{{rf::Frequency::kilohertz(400), rf::Decibel::of(50)},
                                         {rf::Frequency::kilohertz(6'000), rf::Decibel::of(75)}});

  plan::Limits limits;
  limits.link_margin = rf::Decibel::of(12);
  CHECK(plan.limits == limits);

  const plan::Carrier& speech = plan.segments.at(0).carriers.at(0);
  CHECK(speech.nearest == rf::Metres::of(4));
  CHECK(speech.farthest == rf::Metres::of(60));
  CHECK(speech.extra_loss == rf::Decibel::of(15));
  CHECK_FALSE(speech.place);
  CHECK_FALSE(speech.noise_density);
  const plan::Carrier& ear = plan.segments.at(0).carriers.at(1);
  CHECK_FALSE(ear.nearest);
  CHECK(ear.place == plan::Place{0, 40, 3});
  CHECK(ear.isolations == std::map<plan::NodeName, rf::Decibel>{{{"buoy"}, rf::Decibel::of(62.5)}});
  CHECK(ear.noise_density == rf::Decibel::of(-140));
  CHECK(ear.modulation == rf::Modulation::psk);
  CHECK(ear.isolations_from ==
        std::map<plan::CarrierName, rf::Decibel>{{{"speech-1"}, rf::Decibel::of(55)}});
  CHECK(ear.conversion_loss == rf::Decibel::of(18));
  CHECK_FALSE(speech.modulation);
}

TEST_CASE("a wanted share of the time stands beside the link margin") {
  Files files = base_files();
  CHECK_FALSE(rack_of(files).plan.limits.link_availability);
  edit(files, "rack.json", "\"link_margin_db\": 12", "\"link_availability_percent\": 99.5");
  const auto limits = rack_of(files).plan.limits;
  REQUIRE(limits.link_availability);
  CHECK(*limits.link_availability == doctest::Approx(0.995));
  CHECK(limits.link_margin == plan::Limits{}.link_margin);
}

TEST_CASE("noise at the antennas is that of a place, or measured, or not counted") {
  const auto with = [](const std::string& noise) {
    Files files = base_files();
    edit(files, "rack.json", "\"limits\": {", "\"man_made_noise\": " + noise + ", \"limits\": {");
    return rack_of(files).plan;
  };
  const auto at = rf::Frequency::megahertz(500);
  const auto none = rack_of(base_files()).plan;
  CHECK_FALSE(none.man_made_noise);
  CHECK(none.external_noise(at) == rf::Decibel{});
  const auto city = with("{\"as_in\": \"city\"}");
  CHECK(city.man_made_noise == plan::ManMadeNoise{rf::NoisePlace::city});
  CHECK(city.external_noise(at).value() == doctest::Approx(11.103).epsilon(1e-4));
  CHECK(with("{\"as_in\": \"quiet rural\"}").external_noise(at) == rf::Decibel{});
  CHECK(with("{\"measured_db\": 7.5}").external_noise(at) == rf::Decibel::of(7.5));
}

TEST_CASE("a receiver's spurious responses are read with their signs") {
  CHECK(rack_of(base_files()).plan.receivers.at(1).input->spurious_responses.empty());
  Files files = base_files();
  edit(files, "rack.json", "\"protection_ratio_db\": 20,",
       "\"protection_ratio_db\": 20, \"spurious_responses\": ["
       "{\"offset_mhz\": -42.8, \"rejection_db\": 60, \"name\": \"image\"}, "
       "{\"offset_mhz\": 10.700001, \"rejection_db\": 72.5}],");
  CHECK(rack_of(files).plan.receivers.at(1).input->spurious_responses ==
        std::vector<plan::SpuriousResponse>{
            {"image", rf::Frequency::kilohertz(-42'800), rf::Decibel::of(60)},
            {"", rf::Frequency::hertz(10'700'001), rf::Decibel::of(72.5)}});
}

TEST_CASE("what ways run over or among is free space unless the rack says otherwise") {
  CHECK(rack_of(base_files()).plan.propagation == rf::Propagation{rf::FreeSpace{}});
  const auto with = [](const std::string& propagation) {
    Files files = base_files();
    edit(files, "rack.json", "\"limits\": {",
         "\"propagation\": " + propagation + ", \"limits\": {");
    edit(files, "rack.json", "\"antenna_gain_dbi\": 6.5",
         "\"antenna_gain_dbi\": 6.5, \"height_m\": 9.5");
    edit(files, "show.json", "\"extra_loss_db\": 15", "\"extra_loss_db\": 15, \"height_m\": 0.8");
    return rack_of(files).plan;
  };
  const auto water = with("{\"two_ray\": {\"antenna_height_m\": 6, \"carrier_height_m\": 1.5}}");
  CHECK(water.propagation ==
        rf::Propagation{rf::TwoRay{rf::Metres::of(6), rf::Metres::of(1.5), 1.0}});
  CHECK(water.nodes.at(1).height == rf::Metres::of(9.5));
  CHECK_FALSE(water.nodes.at(0).height);
  CHECK(water.segments.at(0).carriers.at(0).height == rf::Metres::of(0.8));
  const auto grass = with(
      "{\"two_ray\": {\"antenna_height_m\": 6, \"carrier_height_m\": 2, \"reflection\": 0.3}}");
  CHECK(std::get<rf::TwoRay>(grass.propagation).reflection == 0.3);
  CHECK(with("{\"indoor\": {\"loss_per_decade_db\": 33}}").propagation ==
        rf::Propagation{rf::Indoor{rf::Decibel::of(33)}});
}

TEST_CASE("a filter passes what its response says, wherever it is tuned to") {
  const RackFile rack = rack_of(base_files());
  const plan::Datasheet& tern = *rack.plan.nodes.at(0).datasheet;
  const plan::Filter& slide = tern.filters.at(0);
  REQUIRE(slide.model != nullptr);
  // At the middle of the two given centres: the middle of the two losses, and of the two widths.
  const rf::Frequency centre = rf::Frequency::kilohertz(565'000);
  const auto tuned = std::get<rf::TunableFilter>(*slide.model).tuned_to(centre);
  CHECK(tuned.width == rf::Frequency::kilohertz(42'000));
  CHECK(tuned.midband_loss.value() == doctest::Approx(1.35));
  // A Chebyshev filter of odd order loses at its geometric centre what is said of mid-band.
  const auto at_centre = plan::TunedFilter::make(*slide.model, centre).value();
  CHECK(at_centre.attenuation(rf::Frequency::hertz(564'609'600)).value() ==
        doctest::Approx(1.35).epsilon(0.001));
  // Of a fixed filter without a tuning table the width is that of its band: at the edges its edge
  // loss, and there more than that, since its resonators have losses.
  const auto wide = tuned_to(535'000, tern.filters.at(1));
  CHECK(at(470'000, wide).value() > 1.0);
  CHECK(at(470'000, wide).value() < 2.5);
  CHECK(tern.filter_position == plan::FilterPosition::before_amplifier);
  CHECK(tern.noise_figure(rf::Gain::decibels(-6)).value() == doctest::Approx((13.5 + 6.2) / 2));

  const auto measured = tuned_to(618'000, first_filter(rack, 2));
  CHECK(at(570'000, measured) == rf::Decibel::of(48));
  CHECK(at(618'000, measured) == rf::Decibel::of(1.1));
}

TEST_CASE("a measured table moves along with the filter it was measured of") {
  Files files = base_files();
  edit(files, "tern.json",
       "\"shape\": \"chebyshev\", \"order\": 3, \"edge_loss_db\": 0.5, \"tuning\": "
       "[{\"centre_mhz\": 430, \"width_mhz\": 40, \"loss_db\": 1.1}, "
       "{\"centre_mhz\": 700, \"width_mhz\": 44, \"loss_db\": 1.6}]",
       "\"measured\": [{\"mhz\": 500, \"db\": 30}, {\"mhz\": 550, \"db\": 1}, "
       "{\"mhz\": 600, \"db\": 33}], \"measured_at_mhz\": 550");
  const RackFile rack = rack_of(files);
  const auto tuned = tuned_to(700'000, first_filter(rack, 0));
  CHECK(at(650'000, tuned) == rf::Decibel::of(30));
  CHECK(at(700'000, tuned) == rf::Decibel::of(1));
}

TEST_CASE("without a response, noise figures or a position a datasheet is read as before") {
  Files files = base_files();
  edit(files, "plover.json",
       ", \"response\": {\"measured\": [{\"mhz\": 570, \"db\": 48}, {\"mhz\": 618, \"db\": 1.1}, "
       "{\"mhz\": 666, \"db\": 44.5}]}",
       "");
  const RackFile rack = rack_of(files);
  const plan::Datasheet& plover = *rack.plan.nodes.at(2).datasheet;
  CHECK(plover.filters.at(0).model == nullptr);
  CHECK(plover.noise_figures.empty());
  CHECK(plover.filter_position == plan::FilterPosition::before_amplifier);
}

// A tern whose amplifier is described as `figures` says.
plan::Datasheet tern_with(const std::string& figures) {
  Files files = base_files();
  edit(files, "tern.json",
       "\"noise_figure_db\": 3.8, \"noise_figures\": [{\"gain_db\": -12, \"noise_figure_db\": "
       "13.5}, "
       "{\"gain_db\": 0, \"noise_figure_db\": 6.2}]",
       figures);
  edit(files, "tern.json", "\"highest\": 27", "\"highest\": 25");
  edit(files, "tern.json", "\"output_p1db_dbm\": 18,\n  \"output_ip3_dbm\": 36,\n  ", "");
  Problems problems;
  const std::string file = "tern.json";
  const auto root = parse(files.at(file), file, problems);
  REQUIRE(root);
  const auto sheet = read_datasheet({*root, file, problems});
  CHECK(texts_of(problems) == std::vector<std::string>{});
  REQUIRE(sheet);
  return *sheet;
}

TEST_CASE("a pad takes noise figure, intercept and compression by where it stands") {
  struct Case {
    int pad_behind;
    double noise_figure, output_ip3, output_p1db;
  };
  // Two stages, 15 dB, NF 2 dB, OIP3 35 dBm, and 10 dB, 4 dB, 38 dBm, with 6 dB of pad: computed
  // apart from this project (cascade formulas of MathWorks rfchain), each figure to four decimals.
  // Output P1dB by the same sum: common practice, no source.
  for (const auto& [pad_behind, noise_figure, output_ip3, output_p1db] :
       {Case{0, 8.1291, 37.2099, 22.2099}, Case{1, 2.7173, 35.4610, 20.4610},
        Case{2, 2.1541, 31.2099, 16.2099}}) {
    CAPTURE(pad_behind);
    const auto sheet = tern_with(
        R"("noise_figure_db": 2.1291, "output_p1db_dbm": 22.2099, "output_ip3_dbm": 37.2099,
           "amplifier": {"pad_behind": )" +
        std::to_string(pad_behind) + R"(, "stages": [
             {"gain_db": 15, "noise_figure_db": 2, "output_p1db_dbm": 20, "output_ip3_dbm": 35},
             {"gain_db": 10, "noise_figure_db": 4, "output_p1db_dbm": 23, "output_ip3_dbm": 38}]})");
    const auto at = rf::Gain::decibels(19);
    CHECK(sheet.noise_figure(at).value() == doctest::Approx(noise_figure).epsilon(1e-4));
    CHECK(sheet.output_ip3(at).dbm() == doctest::Approx(output_ip3).epsilon(1e-4));
    CHECK(sheet.output_p1db(at).dbm() == doctest::Approx(output_p1db).epsilon(1e-4));
    CHECK(sheet.noise_figure(rf::Gain::decibels(25)) == rf::Decibel::of(2.1291));
    CHECK(sheet.output_ip3(rf::Gain::decibels(25)) == rf::PowerLevel::dbm(37.2099));
  }
}

TEST_CASE("above the last gain of a table the noise figure goes to that of the highest gain") {
  const auto sheet = tern_with(
      R"("noise_figure_db": 2, "output_p1db_dbm": 18, "output_ip3_dbm": 36,
         "noise_figures": [{"gain_db": -10, "noise_figure_db": 12}, {"gain_db": 0, "noise_figure_db": 7}])");
  CHECK(sheet.noise_figure(rf::Gain::decibels(-12)) == rf::Decibel::of(12));
  CHECK(sheet.noise_figure(rf::Gain::decibels(-5)).value() == doctest::Approx(9.5));
  CHECK(sheet.noise_figure(rf::Gain::decibels(10)).value() == doctest::Approx(5));
  CHECK(sheet.noise_figure(rf::Gain::decibels(25)) == rf::Decibel::of(2));
}

TEST_CASE("between the gains of a table compression and intercept follow straight lines") {
  const auto sheet = tern_with(
      R"("noise_figure_db": 2, "output_p1db_dbm": 18, "output_ip3_dbm": 36,
         "linearity": [{"gain_db": -12, "output_p1db_dbm": 4, "output_ip3_dbm": 20},
                       {"gain_db": 8, "output_p1db_dbm": 14, "output_ip3_dbm": 34}])");
  CHECK(sheet.output_p1db(rf::Gain::decibels(-12)) == rf::PowerLevel::dbm(4));
  CHECK(sheet.output_p1db(rf::Gain::decibels(-2)).dbm() == doctest::Approx(9));
  CHECK(sheet.output_ip3(rf::Gain::decibels(3)).dbm() == doctest::Approx(30.5));
  // Above the last row up to what is said of the highest gain.
  CHECK(sheet.output_ip3(rf::Gain::decibels(16.5)).dbm() == doctest::Approx(35));
  CHECK(sheet.output_ip3(rf::Gain::decibels(25)) == rf::PowerLevel::dbm(36));
  const auto silent =
      tern_with(R"("noise_figure_db": 2, "output_p1db_dbm": 18, "output_ip3_dbm": 36)");
  CHECK(silent.output_ip3(rf::Gain::decibels(-12)) == rf::PowerLevel::dbm(36));
}

TEST_CASE("two loads of the same files are the same plan, chains and responses included") {
  const Loaded once = load_text(base_files(), "rack.json");
  const Loaded again = load_text(base_files(), "rack.json");
  REQUIRE(once.rack);
  REQUIRE(again.rack);
  for (std::size_t i = 0; i < once.rack->plan.nodes.size(); ++i) {
    const plan::Node& a = once.rack->plan.nodes[i];
    const plan::Node& b = again.rack->plan.nodes[i];
    CHECK(a.datasheet != b.datasheet);
    CHECK(*a.datasheet == *b.datasheet);
    CHECK(a.lead == b.lead);
    CHECK(a.feed == b.feed);
  }
  CHECK(once.rack->plan.receivers == again.rack->plan.receivers);

  Files files = base_files();
  edit(files, "cables.json", "0.62313", "0.62314");
  edit(files, "tern.json", "\"loss_db\": 0.4", "\"loss_db\": 0.5");
  const Loaded other = load_text(files, "rack.json");
  REQUIRE(other.rack);
  CHECK(other.rack->plan.nodes.at(2).feed != once.rack->plan.nodes.at(2).feed);
  CHECK_FALSE(*other.rack->plan.nodes.at(0).datasheet == *once.rack->plan.nodes.at(0).datasheet);
}

TEST_CASE("a transmitter may lie beyond what the cables are described for") {
  Files files = base_files();
  edit(files, "show.json", "\"frequency_mhz\": 645", "\"frequency_mhz\": 1900");
  CHECK(load_text(files, "rack.json").rack);
}

TEST_CASE("every shipped cable type is read") {
  const Cables cables = read_shipped("cables.json", read_cables);
  CHECK(cables.by_type.size() == 18);
  // 100 ft of RG-58 at 400 MHz after ac6la.com/bestfit.html's form: the constants of the fit,
  // dB/100 ft, stand in the source of the entry.
  const auto loss = rf::cable_loss(*cables.by_type.at("RG-58"), rf::Metres::of(30.48),
                                   rf::Frequency::kilohertz(400'000));
  CHECK(loss.value().value() == doctest::Approx(0.34190 * 20 + 0.00377 * 400).epsilon(0.001));
}

TEST_CASE("every shipped datasheet describes its filters, and they reject what is far away") {
  std::size_t filters = 0;
  for (const auto& name : shipped_in("datasheets")) {
    CAPTURE(name);
    if (read_shipped(name, sheet_kind) == SheetKind::matrix) continue;
    const auto sheet = read_shipped(name, read_datasheet);
    REQUIRE(sheet);
    CHECK(sheet->noise_figure(sheet->gains.highest) == rf::Decibel::of(sheet->noise_figure_db));
    CHECK(sheet->noise_figure(sheet->gains.lowest) > sheet->noise_figure(sheet->gains.highest));
    for (const plan::Filter& filter : sheet->filters) {
      CAPTURE(filter.name);
      REQUIRE(filter.model != nullptr);
      const rf::Frequency centre =
          filter.tuning ? filter.tuning->lowest : filter.fixed.low + filter.width / 2;
      const auto tuned = plan::TunedFilter::make(*filter.model, centre).value();
      const rf::Band passed = filter.surely_passed(centre);
      CHECK(tuned.attenuation(centre) < rf::Decibel::of(3));
      CHECK(tuned.attenuation(passed.low) < rf::Decibel::of(5));
      CHECK(tuned.attenuation(passed.high) < rf::Decibel::of(5));
      CHECK(tuned.attenuation(centre + 2 * filter.width) > rf::Decibel::of(25));
      ++filters;
    }
  }
  CHECK(filters == 6);
}

}  // namespace
}  // namespace catwalk::config
