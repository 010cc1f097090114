// SPDX-License-Identifier: Apache-2.0
// What happens at the matrices of an evening, and is asked of them. Beside all that happens to the
// amplifiers, with luck of its own.
#include <cmath>

#include "tests/simulation/random.hpp"
#include "tests/simulation/script.hpp"

namespace catwalk::simulation {
namespace {

class UnitsEvening {
 public:
  UnitsEvening(const Show& show, Script& script)
      : show_{show}, script_{script}, random_{show.seed, "evening of the units"} {}

  void make() {
    while (at_ < script_.length) burst();
  }

  // One in ten, for some of the time.
  void choose_liars() {
    Random luck{show_.seed, "lying units"};
    for (const auto& matrix : show_.plan->matrices) {
      if (!luck.one_in(10)) continue;
      at_ = Micros{static_cast<std::int64_t>(
          luck.below(static_cast<std::uint64_t>(script_.length.count())))};
      add(Lie{matrix.name, luck.any(1, 1'000'000)});
      if (!luck.one_in(4)) add(Lie{matrix.name, 0}, Micros{luck.any(1'000, 1'800'000'000)});
    }
  }

 private:
  // Between the two, each decade as likely as the next.
  Micros lasting(Micros least, Micros most) {
    const double decades =
        std::log10(static_cast<double>(most.count()) / static_cast<double>(least.count()));
    return Micros{std::llround(static_cast<double>(least.count()) *
                               std::pow(10.0, random_.between(0, decades)))};
  }
  void add(Action action, Micros later = Micros{0}) {
    script_.actions.push_back({at_ + later, std::move(action)});
  }
  void for_a_while(Action action, Action then, Micros later = Micros{0}) {
    add(std::move(action), later);
    if (!random_.one_in(20))
      add(std::move(then), later + lasting(Micros{20'000}, std::chrono::seconds{200}));
  }
  bool signs() { return !random_.one_in(4); }

  void burst() {
    at_ += Micros{std::llround(-150e6 * std::log(1 - random_.between(0, 1)))};
    for (int left = random_.any(1, 4); left > 0; --left) {
      something();
      at_ += lasting(Micros{200}, std::chrono::seconds{6});
    }
  }

  void something() {
    switch (random_.below(10)) {
      case 0:
      case 1:
      case 2:
        return ask();
      case 3:
        return ask_about_it();
      case 4:
        return hand(Micros{0});
      case 5:
        return fault(Micros{0});
      case 6:
        return cable();
      case 7:
        return unit_trouble();
      default:
        return trouble_in_a_switch();
    }
  }

  const plan::Matrix& unit() { return random_.of(show_.plan->matrices); }
  int input_of(const plan::Matrix& unit) {
    return random_.any(1, static_cast<int>(unit.sheet->inputs));
  }
  std::string some_inputs(const plan::Matrix& unit) {
    plan::Inputs taken;
    for (std::size_t input = 1; input <= unit.sheet->inputs; ++input)
      if (random_.one_in(unit.sheet->most_summed() == 1 ? 4 : 2)) taken.push_back(input);
    return words(taken);
  }
  rf::Gain some_trim() {
    return rf::Gain::decibels(random_.one_in(12) ? -0.5 : -random_.any(0, 21));
  }
  int some_supply() {
    constexpr int supplies[] = {0, 0, 9'000, 12'000, 12'000, 12'000, 18'000, 11'000};
    return random_.of(std::span{supplies});
  }

  // ---- at the panel ----------------------------------------------------------------------------

  void ask() {
    const auto& one = unit();
    AskRoutes ask;
    ask.node = random_.one_in(40) ? plan::NodeName{"n0"} : one.name;
    if (random_.one_in(3)) {
      ask.as_in = random_.of(show_.plan->segments).name.text;
    } else if (random_.one_in(2)) {
      // One more than it has, now and then.
      ask.output = random_.any(1, static_cast<int>(one.sheet->outputs) + random_.one_in(12));
      ask.takes = some_inputs(one);
    } else {
      ask.input = input_of(one) + random_.one_in(20);
      if (random_.one_in(2)) ask.supply = some_supply();
      if (random_.one_in(2)) ask.trim = some_trim();
      if (random_.one_in(4)) ask.label = random_.one_in(4) ? "much-too-long-for-a-unit" : "quay";
    }
    ask.waiver = signs();
    ask.dry_run = random_.one_in(8);
    if (random_.one_in(5)) ask.behind = random_.one_in(3) ? 1 : 0;
    add(std::move(ask));
  }

  void ask_about_it() {
    const auto& name = unit().name;
    switch (random_.below(8)) {
      case 0:
        return add(AskAdopt{name, signs()});
      case 1:
        return add(AskRestore{signs()});
      case 2:
        return add(AskLocate{name});
      case 3:
        // Of an amplifier it is asked, and this is none.
        return add(AskChange{name, rf::Gain{}, {}, {}, {}, {}, true, false, {}});
      case 4:
      case 5:
        return add(AskStore{name});
      default:
        return add(AskReapply{name, signs()});
    }
  }

  // ---- at the unit -----------------------------------------------------------------------------

  void hand(Micros later) {
    const auto& one = unit();
    TurnSocket turn;
    turn.node = one.name;
    if (random_.one_in(2)) {
      turn.output = random_.any(1, static_cast<int>(one.sheet->outputs));
      turn.takes = some_inputs(one);
    } else {
      turn.input = input_of(one);
      if (random_.one_in(2))
        turn.supply = some_supply();
      else
        turn.trim = some_trim();
    }
    add(std::move(turn), later);
  }

  void fault(Micros later) {
    const auto& one = unit();
    const int input = input_of(one);
    if (random_.one_in(2))
      return for_a_while(Short{one.name, input, true}, Short{one.name, input, false}, later);
    for_a_while(Supply{one.name, false}, Supply{one.name, true}, later);
  }

  void cable() {
    const auto& name = random_.of(show_.plan->nodes).name;
    for_a_while(Cable{name, false}, Cable{name, true});
  }

  void unit_trouble() {
    const auto& name = unit().name;
    switch (random_.below(7)) {
      case 0:
      case 1:
        return for_a_while(Silence{name, true}, Silence{name, false});
      case 2:
        return for_a_while(Refuse{name, true}, Refuse{name, false});
      case 3:
        return for_a_while(Slow{name, lasting(Micros{5'000}, std::chrono::seconds{12})},
                           Slow{name, Micros{0}});
      case 4:
        return add(Reboot{name});
      case 5:
        return add(Move{name, random_.any(0, 7)});
      default:
        add(Rival{name, random_.any(1, 3)});
        if (!random_.one_in(4))
          add(AskTakeOver{}, lasting(Micros{100'000}, std::chrono::minutes{2}));
        return;
    }
  }

  // Somebody goes to a segment, and within a second something happens, or nothing.
  void trouble_in_a_switch() {
    const auto& name = unit().name;
    add(AskSwitch{random_.of(show_.plan->segments).name.text, signs()});
    const auto later = lasting(Micros{1'000}, std::chrono::seconds{1});
    switch (random_.below(10)) {
      case 0:
        return for_a_while(Silence{name, true}, Silence{name, false}, later);
      case 1:
        return for_a_while(Supply{name, false}, Supply{name, true}, later);
      case 2:
        return add(Reboot{name}, later);
      case 3:
        return for_a_while(Refuse{name, true}, Refuse{name, false}, later);
      case 4:
        return hand(later);
      case 5:
        return fault(later);
      case 6:
        return add(Crash{random_.any(0, 12), random_.any(0, 4), Micros{100'000}, false}, later);
      default:
        return;
    }
  }

  const Show& show_;
  Script& script_;
  Random random_;
  Micros at_{0};
};

}  // namespace

void add_matrices(const Show& show, Script& script, Honesty honesty) {
  UnitsEvening evening{show, script};
  evening.make();
  if (honesty == Honesty::some_lie) evening.choose_liars();
}

}  // namespace catwalk::simulation
