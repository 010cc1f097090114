// SPDX-License-Identifier: Apache-2.0
// How a show is made up. Each part draws from a stream of luck of its own, so
// that what is added later leaves the shows of all seeds as they are.
#include "tests/simulation/show.hpp"

#include <algorithm>
#include <cmath>

#include "tests/simulation/random.hpp"
#include "tests/support/measured_window.hpp"

namespace catwalk::simulation {

using rf::Decibel;
using rf::Frequency;
using rf::Gain;
using rf::PowerLevel;

namespace {

// ---- what the nodes are ------------------------------------------------------------------------

std::shared_ptr<const plan::Datasheet> sheet_of(const std::string& type, double p1db,
                                                std::vector<plan::Filter> filters) {
  plan::Datasheet sheet;
  sheet.type = type;
  sheet.title = type;
  sheet.gains.lowest = Gain::decibels(-12);
  sheet.gains.highest = Gain::decibels(27);
  sheet.gains.step = Gain::decibels(1);
  sheet.filters = std::move(filters);
  sheet.noise_figure_db = 3.5;
  sheet.output_p1db_dbm = p1db;
  sheet.output_ip3_dbm = p1db + 16;
  sheet.passive_loss_db = 1.0;
  return std::make_shared<const plan::Datasheet>(std::move(sheet));
}

std::vector<std::shared_ptr<const plan::Datasheet>> sheets() {
  plan::Filter fixed;
  fixed.name = "open";
  fixed.fixed = {Frequency::megahertz(470), Frequency::megahertz(694)};
  fixed.width = fixed.fixed.width();
  fixed.skirt = Frequency::megahertz(1);
  return {
      sheet_of("two-windows", 20,
               {test::measured_window("narrow", 24, 720), test::measured_window("wide", 60, 720)}),
      sheet_of("one-window", 14, {test::measured_window("window", 40, 720)}),
      sheet_of("window-or-open", 10, {test::measured_window("window", 32, 720), fixed})};
}

// ---- the making of a show ----------------------------------------------------------------------

// Microphones that stand close together in the spectrum, and about as loud.
// They are on the air all evening; who has to hear them changes from segment to
// segment.
struct Cluster {
  double centre = 0;  // MHz
  std::vector<plan::Carrier> microphones;
};

// Antennas that hear the same cluster, and the receivers behind them.
struct Group {
  std::vector<std::size_t> nodes;
  std::vector<plan::ReceiverName> receivers;
  std::size_t cluster = 0;  // in the segment that is being made
};

class Maker {
 public:
  explicit Maker(std::uint64_t seed) : seed_{seed} {
    plan_.name = "show " + std::to_string(seed);
    // The gain follows the microphones here, not the length of the cables.
    plan_.limits.lowest_chain_gain = Decibel::of(-20);
    plan_.limits.highest_chain_gain = Decibel::of(28);
    make_lines();
    make_nodes();
    make_groups();
    make_clusters();
    make_segments();
    make_running_order();
  }

  Show finished() && {
    return {seed_, std::make_shared<const plan::RackPlan>(std::move(plan_)), std::move(lines_)};
  }

 private:
  // More than this beside the middle of a cluster no carrier stands: the
  // narrowest window still holds it.
  static constexpr double reach = 10;
  // Behind a combiner.
  static constexpr double rack_gain = 8;  // dB

  void make_lines() {
    Random random{seed_, "lines"};
    const int count = random.any(1, 3);
    for (int i = 0; i < count; ++i) {
      LineSetup line;
      line.kind = random.one_in(2) ? LineKind::serial : LineKind::datagrams;
      line.name = {(line.kind == LineKind::serial ? "bus" : "net") + std::to_string(i)};
      constexpr int ages[] = {5, 8, 12, 20};
      line.reading_age = std::chrono::seconds{random.of(std::span{ages})};
      plan_.lines.push_back(line.name);
      plan_.line_timings[line.name] =
          line.kind == LineKind::serial
              ? plan::LineTiming{115'200, std::chrono::microseconds{2'000}, false}
              : plan::LineTiming{0, std::chrono::microseconds{300}, true};
      lines_.push_back(std::move(line));
    }
  }

  void make_nodes() {
    Random random{seed_, "nodes"};
    const auto types = sheets();
    const auto count = static_cast<std::size_t>(random.any(2, 6));
    for (std::size_t i = 0; i < count; ++i) {
      plan::Node node;
      node.name = {"n" + std::to_string(i)};
      node.uid = {0x7a10, static_cast<std::uint32_t>(0x100 + i)};
      // Every line has somebody.
      node.line = plan_.lines[i < plan_.lines.size()
                                  ? i
                                  : static_cast<std::size_t>(random.below(plan_.lines.size()))];
      node.datasheet = random.of(types);
      node.hangs = "truss " + std::to_string(i);
      node.on_return = random.one_in(2) ? plan::OnReturn::reapply : plan::OnReturn::hold;
      if (random.one_in(4))
        node.gain_limits = plan::GainLimits{Gain::decibels(-6), Gain::decibels(18)};
      node.antenna_gain = Decibel::of(4);
      node.feed = plan::Chain{plan::FixedLoss{"cable", Decibel::of(random.any(3, 8))}};
      plan_.nodes.push_back(std::move(node));
    }
    if (random.one_in(2))
      plan_.gain_limits = plan::GainLimits{Gain::decibels(-12), Gain::decibels(random.any(14, 24))};
  }

  void make_groups() {
    Random random{seed_, "groups"};
    std::vector<std::size_t> left;
    for (std::size_t i = 0; i < plan_.nodes.size(); ++i) left.push_back(i);
    if (left.size() > 2 && random.one_in(5)) left.pop_back();  // it serves nobody
    while (!left.empty()) {
      const bool last = groups_.size() == 2;
      auto size = static_cast<std::size_t>(random.any(1, 4));
      if (size == 1 && !random.one_in(4)) size = 2;
      if (last || size > left.size()) size = left.size();
      size = std::min<std::size_t>(size, 4);
      Group group;
      for (std::size_t i = 0; i < size; ++i) {
        group.nodes.push_back(left.back());
        left.pop_back();
      }
      const int receivers = random.one_in(3) ? 2 : 1;
      for (int r = 0; r < receivers; ++r) group.receivers.push_back(make_receiver(random, group));
      groups_.push_back(std::move(group));
      if (last) break;
    }
  }

  plan::ReceiverName make_receiver(Random& random, const Group& group) {
    plan::Receiver receiver;
    receiver.name = {"r" + std::to_string(plan_.receivers.size())};
    const auto name = [&](std::size_t i) { return plan_.nodes[group.nodes[i]].name; };
    const auto count = group.nodes.size();
    const bool one_branch = count == 1 || (count == 2 && random.one_in(3));
    const std::size_t in_first = one_branch ? count : count / 2;
    plan::Branch first;
    plan::Branch second;
    for (std::size_t i = 0; i < count; ++i)
      (i < in_first ? first : second).nodes.push_back(name(i));
    receiver.branches.push_back(std::move(first));
    if (!one_branch) receiver.branches.push_back(std::move(second));
    for (auto& branch : receiver.branches)
      if (branch.nodes.size() > 1 && !random.one_in(4))
        branch.chain = {plan::RackAmplifier{
            receiver.name.text + " " + branch.nodes.front().text, Decibel::of(rack_gain),
            Decibel::of(4), PowerLevel::dbm(random.any(6, 18)), PowerLevel::dbm(38)}};
    if (!random.one_in(3))
      receiver.input = plan::ReceiverInput{Decibel::of(8), PowerLevel::dbm(-95), PowerLevel::dbm(8),
                                           PowerLevel::dbm(10), Decibel::of(12)};
    plan_.receivers.push_back(receiver);
    return receiver.name;
  }

  void make_clusters() {
    Random random{seed_, "clusters"};
    double at = 482 + random.any(0, 20);
    for (std::size_t i = 0; i < groups_.size() + 1; ++i, at += random.any(32, 58)) {
      Cluster cluster;
      cluster.centre = at;
      const bool loud = random.one_in(2);
      for (int left = random.any(1, 3); left > 0; --left) {
        auto one = microphone(random, at);
        one.nearest = rf::Metres::of(loud ? random.between(1.2, 3) : random.between(8, 40));
        one.farthest = rf::Metres::of(one.nearest->value() + random.any(5, 60));
        cluster.microphones.push_back(std::move(one));
      }
      clusters_.push_back(std::move(cluster));
    }
  }

  plan::Carrier microphone(Random& random, double centre) {
    plan::Carrier one;
    one.name = {"m" + std::to_string(microphones_++)};
    one.use = plan::CarrierUse::receive;
    one.frequency = Frequency::megahertz(centre + random.any(-9, 8)) +
                    Frequency::kilohertz(200 * random.any(0, 4) + 25);
    one.bandwidth = Frequency::kilohertz(200);
    one.erp = PowerLevel::dbm(random.any(7, 17));
    one.extra_loss = Decibel::of(8);
    return one;
  }

  void make_segments() {
    constexpr const char* names[] = {"speeches", "orchestra", "children", "night", "finale"};
    const int count = Random{seed_, "segments"}.any(2, 5);
    for (int s = 0; s < count; ++s) {
      Random random{seed_, "segment " + std::to_string(s)};
      plan::Segment segment;
      segment.name = {names[s]};
      segment.title = names[s];
      segment.if_a_node_fails =
          random.one_in(3) ? plan::IfNodeFails::go_on : plan::IfNodeFails::roll_back;
      if (s == 0 || !random.one_in(4)) deal_clusters(random);
      add_microphones(random, segment);
      add_transmitters(random, segment);
      add_lanes(random, segment);
      for (const auto& group : groups_) add_settings(random, segment, group);
      plan_.segments.push_back(std::move(segment));
    }
  }

  void make_running_order() {
    Random random{seed_, "running order"};
    auto& order = plan_.running_order;
    order.second_trigger = static_cast<plan::SecondTrigger>(random.any(0, 2));
    order.after_restart = static_cast<plan::AfterRestart>(random.any(0, 2));
    order.arming_lasts = std::chrono::seconds{random.any(10, 900)};
    for (int i = random.any(0, 6); i > 0; --i) {
      plan::Cue cue;
      cue.name = {"cue-" + std::to_string(order.cues.size())};
      cue.segment = random.of(plan_.segments).name;
      switch (random.below(5)) {
        case 0:
          // Evenings begin at an odd time: a clock is due at any second of the
          // day.
          cue.trigger = plan::AtClock{{std::chrono::seconds{random.any(0, 86'399)}, {}}};
          break;
        case 1:
          if (!order.cues.empty())
            cue.trigger = plan::AfterSegment{random.of(order.cues).segment,
                                             std::chrono::seconds{random.any(0, 600)}};
          break;
        case 2:
          cue.trigger = plan::ByMessage{"go"};
          break;
        default:
          break;
      }
      order.cues.push_back(std::move(cue));
    }
  }

  // Each group hears another cluster, or the same again; one is left over.
  void deal_clusters(Random& random) {
    std::vector<std::size_t> left;
    for (std::size_t i = 0; i < clusters_.size(); ++i) left.push_back(i);
    for (auto& group : groups_) {
      const auto at = static_cast<std::ptrdiff_t>(random.below(left.size()));
      group.cluster = left[static_cast<std::size_t>(at)];
      left.erase(left.begin() + at);
    }
  }

  void add_microphones(Random& random, plan::Segment& segment) {
    for (std::size_t c = 0; c < clusters_.size(); ++c) {
      const auto group = std::ranges::find(groups_, c, &Group::cluster);
      const auto heard = [&](plan::Carrier one) {
        if (group == groups_.end()) return one;
        one.receivers = {random.of(group->receivers)};
        if (random.one_in(4)) one.receivers = group->receivers;
        return one;
      };
      for (const auto& one : clusters_[c].microphones)
        if (!random.one_in(10)) segment.carriers.push_back(heard(one));
      if (!random.one_in(3)) continue;
      // One that is here for this segment only.
      auto guest = microphone(random, clusters_[c].centre);
      guest.nearest = rf::Metres::of(random.between(2, 30));
      guest.farthest = rf::Metres::of(guest.nearest->value() + random.any(5, 60));
      guest.early = random.one_in(4);
      guest.late = random.one_in(4);
      segment.carriers.push_back(heard(std::move(guest)));
    }
  }

  bool is_clear(double megahertz) const {
    return std::ranges::all_of(groups_, [&](const Group& group) {
      return std::abs(clusters_[group.cluster].centre - megahertz) > 42;
    });
  }

  void add_transmitters(Random& random, plan::Segment& segment) {
    const int count = random.any(0, 3);
    for (int i = 0; i < count; ++i) {
      plan::Carrier one;
      one.name = {"t" + std::to_string(i)};
      one.use = plan::CarrierUse::transmit;
      one.bandwidth = Frequency::kilohertz(200);
      double at = 718 + random.any(0, 10);
      for (int tries = 0; tries < 4; ++tries) {
        const double other = 472 + random.any(0, 230);
        if (is_clear(other)) at = other;
      }
      one.frequency = Frequency::megahertz(at + 0.1);
      // One whose level nobody knows, now and then.
      if (!random.one_in(6)) {
        one.erp = PowerLevel::dbm(17);
        for (const auto& node : plan_.nodes)
          one.isolations.emplace(node.name, Decibel::of(random.any(25, 70)));
      }
      // One that stays is no other transmitter now.
      for (const auto& before : plan_.segments)
        for (const auto& carrier : before.carriers)
          if (carrier.name == one.name && carrier.frequency == one.frequency) {
            one.erp = carrier.erp;
            one.isolations = carrier.isolations;
          }
      one.early = random.one_in(8);
      one.late = random.one_in(8);
      segment.carriers.push_back(std::move(one));
    }
  }

  void add_lanes(Random& random, plan::Segment& segment) {
    for (std::size_t c = 0; c < clusters_.size(); ++c)
      segment.lanes.push_back(
          {{"lane " + std::to_string(c)},
           plan::LanePurpose::receive,
           rf::Band::around(Frequency::megahertz(clusters_[c].centre), Frequency::megahertz(20)),
           ""});
    const double at = 480 + random.any(0, 200);
    if (is_clear(at) || random.one_in(8))
      segment.lanes.push_back({{"tower"},
                               plan::LanePurpose::closed,
                               rf::Band::around(Frequency::megahertz(at), Frequency::megahertz(8)),
                               "broadcast"});
  }

  // Windows around the cluster, and nearly as much gain as the amplifiers
  // stand. Behind a combiner each node has a share of what its amplifier
  // stands, another one in every segment.
  void add_settings(Random& random, plan::Segment& segment, const Group& group) {
    std::vector<double> shares;
    double all = 0;
    for (std::size_t i = 0; i < group.nodes.size(); ++i)
      all += shares.emplace_back(random.between(0.03, 1));
    for (std::size_t i = 0; i < group.nodes.size(); ++i) {
      const auto& node = plan_.nodes[group.nodes[i]];
      const auto& sheet = *node.datasheet;
      const double centre = clusters_[group.cluster].centre;
      plan::SettingsPatch patch;
      const auto& filter = sheet.filters[static_cast<std::size_t>(
          random.one_in(4) ? random.below(sheet.filters.size()) : 0)];
      patch.filter = filter.name;
      const double spare = filter.width.megahertz() / 2 - reach - 2;
      patch.centre = filter.tuning
                         ? Frequency::megahertz(std::round(centre + random.between(-spare, spare)))
                         : Frequency{};
      const double half = filter.tuning ? filter.width.megahertz() / 2 + 5 : 120;
      double most = loudest_gain(node, segment, centre, half, shares[i] / all);
      if (random.one_in(4)) most -= random.any(0, 12);
      const auto limits = node.gain_limits ? node.gain_limits : plan_.gain_limits;
      int gain = std::clamp(static_cast<int>(std::floor(most)), -12, 27);
      if (limits)
        gain = std::clamp(gain, static_cast<int>(limits->lowest.decibels()),
                          static_cast<int>(limits->highest.decibels()));
      patch.gain = Gain::decibels(gain);
      patch.power = !random.one_in(30);
      segment.settings.emplace(node.name, std::move(patch));
    }
  }

  // Free space between the microphones in the window, as near as they come, and
  // the antenna: 6 dB below the compression point of the node, and of the
  // amplifier behind its combiner.
  double loudest_gain(const plan::Node& node, const plan::Segment& segment, double centre,
                      double half, double share) const {
    double milliwatts = 1e-12;
    for (const auto& carrier : segment.carriers) {
      if (!carrier.nearest || std::abs(carrier.frequency.megahertz() - centre) > half) continue;
      const double loss = 32.45 + 20 * std::log10(carrier.nearest->value() / 1000) +
                          20 * std::log10(carrier.frequency.megahertz());
      milliwatts += std::pow(10, (carrier.erp->dbm() + 2.15 - loss + 4) / 10);
    }
    const double input = 10 * std::log10(milliwatts);
    double most = node.datasheet->output_p1db_dbm - 6 - input;
    const double feed = std::get<plan::FixedLoss>(node.feed->front()).loss.value();
    for (const auto& receiver : plan_.receivers)
      for (const auto& branch : receiver.branches) {
        if (branch.chain.empty() || std::ranges::count(branch.nodes, node.name) == 0) continue;
        const auto& amplifier = std::get<plan::RackAmplifier>(branch.chain.front());
        // The combiner takes off as much as all of its ports together add.
        most =
            std::min(most, amplifier.output_p1db.dbm() - 6 - rack_gain + feed - input +
                               10 * std::log10(share * static_cast<double>(branch.nodes.size())));
      }
    return most;
  }

  std::uint64_t seed_;
  plan::RackPlan plan_;
  std::vector<LineSetup> lines_;
  std::vector<Group> groups_;
  std::vector<Cluster> clusters_;
  int microphones_ = 0;
};

}  // namespace

Show random_show(std::uint64_t seed) { return Maker{seed}.finished(); }

}  // namespace catwalk::simulation
