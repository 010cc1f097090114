// SPDX-License-Identifier: Apache-2.0
// An evening at random: bursts of things that happen close together, with quiet
// in between. Each show has a temperament of its own, so that some see storms
// on one line and others many crashes.
#include <algorithm>
#include <array>
#include <cmath>

#include "tests/simulation/random.hpp"
#include "tests/simulation/script.hpp"

namespace catwalk::simulation {
namespace {

class Evening {
 public:
  Evening(const Show& show, Micros length, Honesty honesty)
      : show_{show},
        random_{show.seed, "evening"},
        journals_{show.seed, "journals"},
        segment_{show.plan->segments.front().name} {
    script_.show = show.seed;
    script_.routed = show.routed;
    script_.length = length;
    constexpr int weights[] = {0, 1, 1, 2, 4};
    for (auto& weight : weights_) weight = random_.of(std::span{weights});
    weights_[0] = std::max(weights_[0], 2);  // there is always somebody at the panel
    set_weather();
    while (at_ < length) burst();
    if (honesty == Honesty::some_lie) choose_liars();
    if (show.routed) add_matrices(show, script_, honesty);
    std::erase_if(script_.actions, [&](const Timed& one) { return one.at >= length; });
    std::ranges::stable_sort(script_.actions, {}, &Timed::at);
  }

  Script finished() && { return std::move(script_); }

 private:
  // Between the two, each decade as likely as the next.
  Micros lasting(Micros least, Micros most) {
    const double decades =
        std::log10(static_cast<double>(most.count()) / static_cast<double>(least.count()));
    return Micros{std::llround(static_cast<double>(least.count()) *
                               std::pow(10.0, random_.between(0, decades)))};
  }

  Micros lasting_on_the_shelf() { return Micros{shelf_.any(0, 120'000'000)}; }

  void add(Action action, Micros later = Micros{0}) {
    script_.actions.push_back({at_ + later, std::move(action)});
  }
  // Nearly everything is put right again after a while.
  void for_a_while(Action action, Action then) {
    add(std::move(action));
    if (!random_.one_in(20))
      add(std::move(then), lasting(Micros{20'000}, std::chrono::seconds{200}));
  }

  void burst() {
    at_ += Micros{std::llround(-60e6 * std::log(1 - random_.between(0, 1)))};
    for (int left = random_.any(1, 8); left > 0; --left) {
      something();
      at_ += lasting(Micros{200}, std::chrono::seconds{6});
    }
  }

  void something() {
    int total = 0;
    for (const int weight : weights_) total += weight;
    auto luck = static_cast<int>(random_.below(static_cast<std::uint64_t>(total)));
    std::size_t kind = 0;
    while (luck >= weights_[kind]) luck -= weights_[kind++];
    (this->*kinds[kind])();
  }

  const plan::Node& node() { return random_.of(show_.plan->nodes); }
  const plan::LineName& line() { return random_.of(show_.lines).name; }
  const plan::Segment& segment() { return random_.of(show_.plan->segments); }
  bool signs() { return !random_.one_in(4); }

  rf::Gain some_gain() {
    if (random_.one_in(12)) return rf::Gain::decibels(random_.of(std::span{odd_gains}));
    return rf::Gain::decibels(random_.any(-12, 27));
  }
  rf::Frequency near_plan(const plan::Node& one) {
    const auto planned_centre = planned(one, *show_.plan->find(segment_), {}).centre.megahertz();
    const double from = planned_centre == 0 ? 560 : planned_centre;
    return rf::Frequency::megahertz(from + random_.any(-15, 15) + (random_.one_in(12) ? 0.3 : 0));
  }

  // ---- at the panel
  // ----------------------------------------------------------------------------

  void as_planned(const plan::Node& one, const plan::Segment& where, Micros later) {
    const auto found = where.settings.find(one.name);
    if (found == where.settings.end()) return;
    const auto& patch = found->second;
    add(
        AskChange{
            one.name, patch.gain, patch.filter, patch.centre, patch.power, {}, signs(), false, {}},
        later);
  }

  void change() {
    const auto& one = node();
    if (random_.one_in(3)) return as_planned(one, *show_.plan->find(segment_), Micros{0});
    AskChange ask;
    ask.node = random_.one_in(40) ? plan::NodeName{"nobody"} : one.name;
    if (!random_.one_in(3)) ask.gain = some_gain();
    if (random_.one_in(4)) ask.centre = near_plan(one);
    if (random_.one_in(6)) ask.filter = random_.of(one.datasheet->filters).name;
    if (random_.one_in(30)) ask.filter = "nonesuch";
    if (random_.one_in(12)) ask.power = random_.one_in(2);
    if (random_.one_in(8))
      ask.label = random_.one_in(4)   ? "much-too-long-for-a-node"
                  : random_.one_in(2) ? "mic"
                                      : "ear";
    ask.waiver = signs();
    ask.dry_run = random_.one_in(8);
    if (random_.one_in(5)) ask.behind = random_.one_in(3) ? 1 : 0;
    add(std::move(ask));
  }

  void person() {
    switch (random_.below(16)) {
      default:
        return change();
      case 8:
        return add(AskAdopt{node().name, signs()});
      case 9:
      case 10:
        if (shelf_.one_in(3)) return add(AskRestore{signs()});
        return add(AskReapply{node().name, signs()});
      case 11:
        return add(AskLocate{node().name});
      case 12:
        return add(AskStore{node().name});
      case 13:
        return add(AskDiscover{line()});
      case 14:
        if (shelf_.one_in(2))
          add(AskShelve{shelf_.any(0, 9), shelf_.one_in(5) ? 0 : shelf_.any(60, 1'800)},
              lasting_on_the_shelf());
        return add(AskAcknowledge{random_.any(0, 9)});
      case 15:
        return for_a_while(AskLock{true}, AskLock{false});
    }
  }

  // By a switch; by a cue; or the rules of another segment, and the nodes after
  // it one by one.
  void go_to_segment() {
    const auto& next = segment();
    switch (random_.below(8)) {
      case 0:
      case 1:
      case 2:
        segment_ = next.name;
        add(AskSwitch{next.name.text, signs()});
        if (random_.one_in(4)) add(AskAbort{}, lasting(Micros{1'000}, std::chrono::seconds{1}));
        if (random_.one_in(4))
          add(AskSwitch{segment().name.text, signs()},
              lasting(Micros{1'000}, std::chrono::seconds{1}));
        if (random_.one_in(4))
          add(Crash{random_.any(0, 12), random_.any(0, 4), Micros{100'000}, false},
              lasting(Micros{1'000}, std::chrono::milliseconds{500}));
        return;
      case 3:
        return add(AskSwitch{{}, signs()});
      case 4:
        add(AskArm{{}, signs()});
        if (random_.one_in(4))
          return add(AskDisarm{}, lasting(Micros{1'000}, std::chrono::minutes{1}));
        return add(AskSwitch{{}, signs()}, lasting(Micros{100'000}, std::chrono::minutes{15}));
      case 5:
        return add(AskMessage{random_.one_in(4) ? "nothing" : "go"});
      default:
        break;
    }
    segment_ = next.name;
    add(AskSegment{next.name});
    Micros later{0};
    for (const auto& one : show_.plan->nodes) {
      if (random_.one_in(6)) continue;
      later += lasting(Micros{500}, std::chrono::seconds{1});
      as_planned(one, next, later);
    }
  }

  // ---- in the grid
  // -----------------------------------------------------------------------------

  void hand() {
    const auto& one = node();
    TurnKnob knob;
    knob.node = one.name;
    if (random_.one_in(3))
      knob.centre = near_plan(one);
    else if (random_.one_in(10))
      knob.power = random_.one_in(2);
    else
      knob.gain = rf::Gain::decibels(random_.any(-12, 27));
    add(std::move(knob));
  }

  void supply() {
    const auto& one = node().name;
    if (random_.one_in(2)) return add(Reboot{one});
    for_a_while(Supply{one, false}, Supply{one, true});
  }

  void node_trouble() {
    const auto& one = node().name;
    switch (random_.below(8)) {
      case 0:
      case 1:
      case 2:
        return for_a_while(Silence{one, true}, Silence{one, false});
      case 3:
      case 4:
        return for_a_while(Refuse{one, true}, Refuse{one, false});
      case 5:
        return for_a_while(Slow{one, lasting(Micros{5'000}, std::chrono::seconds{12})},
                           Slow{one, Micros{0}});
      case 6:
        return add(Move{one, random_.any(0, 7)});
      default:
        add(Rival{one, random_.any(1, 3)});
        if (!random_.one_in(4))
          add(AskTakeOver{}, lasting(Micros{100'000}, std::chrono::minutes{2}));
        return;
    }
  }

  // One in ten, from some moment on, and most of them not for ever.
  void choose_liars() {
    for (const auto& one : show_.plan->nodes) {
      if (!liars_.one_in(10)) continue;
      at_ = Micros{static_cast<std::int64_t>(
          liars_.below(static_cast<std::uint64_t>(script_.length.count())))};
      add(Lie{one.name, liars_.any(1, 1'000'000)});
      if (!liars_.one_in(4)) add(Lie{one.name, 0}, Micros{liars_.any(1'000, 1'800'000'000)});
    }
  }

  void set_weather() {
    for (const auto& one : show_.lines)
      if (random_.one_in(3)) add(weather(one.name, 0.03));
  }
  Faults weather(const plan::LineName& name, double most) {
    Faults faults;
    faults.line = name;
    faults.loss = random_.between(0, most);
    if (random_.one_in(2)) faults.duplicate = random_.between(0, most);
    if (random_.one_in(2)) faults.corrupt = random_.between(0, most);
    if (random_.one_in(2)) {
      faults.least = lasting(Micros{100}, Micros{30'000});
      faults.most = faults.least + lasting(Micros{100}, Micros{150'000});
    }
    // As short as it is said: what is not in the words must not be in the
    // action either.
    for (auto* rate : {&faults.loss, &faults.duplicate, &faults.corrupt})
      *rate = std::round(*rate * 1000) / 1000;
    faults.luck = random_.any(1, 1'000'000);
    return faults;
  }
  void storm() {
    const auto& name = line();
    for_a_while(weather(name, random_.one_in(3) ? 0.9 : 0.3),
                random_.one_in(4) ? weather(name, 0.02) : Faults{name});
  }

  void unplug() {
    const auto& name = line();
    for_a_while(Plug{name, false}, Plug{name, true});
  }

  // ---- in the machine
  // --------------------------------------------------------------------------

  void crash() {
    add(Crash{random_.any(0, 12), random_.any(0, 4),
              lasting(Micros{50'000}, std::chrono::seconds{30}), journals_.one_in(8)});
  }

  void machine() {
    switch (random_.below(6)) {
      case 0:
      case 1:
        return for_a_while(Disk{true, Micros{0}}, Disk{});
      case 2:
      case 3:
        return for_a_while(Disk{false, lasting(Micros{20'000}, std::chrono::seconds{5})}, Disk{});
      case 4:
        return add(StepClock{(random_.one_in(2) ? 1 : -1) *
                             lasting(Micros{10'000}, std::chrono::hours{3})});
      default:
        return add(Reload{random_.one_in(2) ? 0 : random_.any(1, 3)});
    }
  }

  static constexpr double odd_gains[] = {3.5, -12.5, 40, -30};
  // What can happen; which show sees how much of it, its weights say.
  static constexpr std::array kinds{&Evening::person, &Evening::go_to_segment, &Evening::hand,
                                    &Evening::supply, &Evening::node_trouble,  &Evening::storm,
                                    &Evening::unplug, &Evening::crash,         &Evening::machine};

  const Show& show_;
  Random random_;
  Random journals_;
  Random shelf_{show_.seed, "shelf"};
  Random liars_{show_.seed, "liars"};
  Script script_;
  Micros at_{0};
  plan::SegmentName segment_;  // that was asked for last
  std::array<int, kinds.size()> weights_{};
};

}  // namespace

Script random_script(const Show& show, Micros length, Honesty honesty) {
  return Evening{show, length, honesty}.finished();
}

}  // namespace catwalk::simulation
