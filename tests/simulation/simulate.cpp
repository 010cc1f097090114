// SPDX-License-Identifier: Apache-2.0
// Runs the simulation over many seeds, and says of each that fails what was
// broken, and by which script. Exit status: 0 nothing was broken, 1 something
// was, 2 it was called wrongly.
#include <charconv>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <iterator>
#include <map>
#include <thread>

#include "tests/simulation/many_runs.hpp"
#include "tests/simulation/shrink.hpp"
#include "tests/simulation/world.hpp"

using namespace catwalk::simulation;

namespace {

constexpr auto usage = R"(usage: simulate [options]
  --seeds A..B         run these (1..100)
  --hours H            simulated hours of each (1)
  --jobs N             processes (as many as there are processors)
  --shorten N          runs to find the shortest script of a seed that fails (400); 0: do not
  --explain N          of each invariant, seeds that are explained (2)
  --save FOLDER        write those scripts there too
  --trace SEED         print everything that happens in one seed
  --fingerprint SEED   print the fingerprint of that
  --show SEED          print the rack and its segments
  --evening SEED       print the script of one seed
  --script FILE        run a script; with --trace - print everything that happens
  --liars yes|no       a tenth of the nodes say what no honest node says (no)
  --break WHAT         break the harness on purpose: )";

struct Options {
  SeedRange seeds{1, 100};
  double hours = 1;
  unsigned jobs = std::max(1U, std::thread::hardware_concurrency());
  int shorten = 400;
  unsigned explain = 2;
  std::string save;
  std::string script;
  Mutation mutation = Mutation::none;
  Honesty honesty = Honesty::all_honest;
  enum class Mode { many, trace, fingerprint, show, evening } mode = Mode::many;
  std::uint64_t seed = 0;
  bool talkative = false;

  Micros length() const { return Micros{static_cast<std::int64_t>(hours * 3600e6)}; }
};

template <class Number>
bool read(std::string_view text, Number& value) {
  const auto [end, bad] = std::from_chars(text.data(), text.data() + text.size(), value);
  return bad == std::errc{} && end == text.data() + text.size();
}

// What is wrong, or nothing.
std::string take(std::string_view name, std::string_view value, Options& options) {
  const auto wrong = [&](std::string_view allowed) {
    return std::string{name} + " is \"" + std::string{value} + "\", allowed is " +
           std::string{allowed};
  };
  const auto seed_for = [&](Options::Mode mode) {
    options.mode = mode;
    return read(value, options.seed) ? std::string{} : wrong("a whole number, not negative");
  };
  if (name == "--seeds") {
    const auto dots = value.find("..");
    if (dots == std::string_view::npos || !read(value.substr(0, dots), options.seeds.first) ||
        !read(value.substr(dots + 2), options.seeds.last) ||
        options.seeds.last < options.seeds.first)
      return wrong("A..B, B not below A");
    return {};
  }
  if (name == "--hours")
    return read(value, options.hours) && options.hours > 0 && options.hours <= 1000
               ? ""
               : wrong("a number above 0, up to 1000");
  if (name == "--jobs")
    return read(value, options.jobs) && options.jobs >= 1 && options.jobs <= 256
               ? ""
               : wrong("1 to 256");
  if (name == "--shorten")
    return read(value, options.shorten) && options.shorten >= 0 ? "" : wrong("0 or more");
  if (name == "--explain") return read(value, options.explain) ? "" : wrong("0 or more");
  if (name == "--save") return options.save = value, "";
  if (name == "--script") return options.script = value, "";
  if (name == "--liars") {
    options.honesty = value == "yes" ? Honesty::some_lie : Honesty::all_honest;
    return value == "yes" || value == "no" ? "" : wrong("yes or no");
  }
  if (name == "--break") {
    const auto mutation = catwalk::named<Mutation>(value);
    if (mutation) options.mutation = *mutation;
    return mutation ? "" : wrong("one of those that --help lists");
  }
  if (name == "--trace" && value == "-") return options.talkative = true, "";
  if (name == "--trace") return seed_for(Options::Mode::trace);
  if (name == "--fingerprint") return seed_for(Options::Mode::fingerprint);
  if (name == "--show") return seed_for(Options::Mode::show);
  if (name == "--evening") return seed_for(Options::Mode::evening);
  return "there is no option " + std::string{name};
}

Script evening(std::uint64_t seed, const Options& options) {
  return random_script(evening_show(seed), options.length(), options.honesty);
}

int say_violation(const RunEnd& end) {
  if (!end.violation) {
    std::cout << "nothing is broken in " << words(end.at) << '\n';
    return 0;
  }
  std::cout << "broken at " << words(end.at) << ": " << end.violation->invariant << "\n  "
            << end.violation->sentence << '\n';
  return 1;
}

int run_script(const Options& options) {
  std::ifstream file{options.script};
  if (!file) {
    std::cerr << "simulate: " << options.script << " cannot be read\n";
    return 2;
  }
  const std::string text{std::istreambuf_iterator<char>{file}, {}};
  const auto script = script_from(text);
  if (!script) {
    std::cerr << "simulate: " << options.script << ", " << script.error() << '\n';
    return 2;
  }
  Trace trace{&std::cout};
  World world{*script, options.mutation, options.talkative ? &trace : nullptr};
  return say_violation(world.run());
}

void explain(std::uint64_t seed, const Options& options) {
  auto script = evening(seed, options);
  const auto end = World{script, options.mutation}.run();
  std::cout << "\nseed " << seed << ' ';
  if (!end.violation) {
    std::cout << "ended without telling how\n";
    return;
  }
  say_violation(end);
  if (options.shorten == 0) return;
  // What comes after does not matter, but what is put right at the end may.
  if (end.at < script.length) script.length = end.at + std::chrono::milliseconds{1};
  std::erase_if(script.actions, [&](const Timed& one) { return one.at >= script.length; });
  const auto& invariant = end.violation->invariant;
  const auto fails = [&](const Script& candidate) {
    const auto again = World{candidate, options.mutation}.run();
    return again.violation && again.violation->invariant == invariant;
  };
  if (fails(script)) script = shrunk(std::move(script), fails, options.shorten);
  const auto last = World{script, options.mutation}.run();
  const auto text = "# " + invariant + "\n# " +
                    (last.violation ? last.violation->sentence : "not again") + '\n' +
                    words(script);
  std::cout << text;
  if (options.save.empty()) return;
  const auto name = options.save + "/seed-" + std::to_string(seed) + ".script";
  std::ofstream{name} << text;
  std::cout << "# written to " << name << '\n';
}

void say_tally(const Tally& tally) {
  using catwalk::rack::Outcome;
  std::cout << "  " << tally.actions << " actions, " << tally.events << " events, "
            << tally.node_changes << " changes at nodes\n  " << tally.crashes << " crashes, "
            << tally.crashes_in_a_turn << " of them within a turn, " << tally.interrupted
            << " changes interrupted, " << tally.set_aside << " journals set aside\n  "
            << tally.ways << " ways, " << tally.long_ways << " of more than one step, "
            << tally.watched_ways << " watched\n ";
  for (std::size_t i = 0; i < tally.outcomes.size(); ++i)
    if (tally.outcomes[i] > 0)
      std::cout << ' ' << catwalk::rack::name_of(static_cast<Outcome>(i)) << ' '
                << tally.outcomes[i];
  std::cout << '\n';
}

int run_seeds(const Options& options) {
  const auto begin = std::chrono::steady_clock::now();
  const auto all =
      run_many(options.seeds, options.length(), options.mutation, options.jobs, options.honesty);
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begin;
  const double hours = static_cast<double>(all.simulated.count()) / 3600e6;
  char line[200];
  std::snprintf(line, sizeof line,
                "%llu seeds, %.1f simulated hours in %.1f s: %.1f hours/s; %zu "
                "violations\n",
                static_cast<unsigned long long>(all.seeds), hours, took.count(),
                hours / took.count(), all.failed.size());
  std::cout << line;
  say_tally(all.tally);
  std::map<std::string, std::vector<std::uint64_t>> by_invariant;
  for (const auto& [seed, invariant] : all.failed) by_invariant[invariant].push_back(seed);
  for (const auto& [invariant, seeds] : by_invariant) {
    std::cout << "\n" << invariant << ": broken by seeds";
    for (const auto seed : seeds) std::cout << ' ' << seed;
    std::cout << '\n';
    for (std::size_t i = 0; i < std::min<std::size_t>(seeds.size(), options.explain); ++i)
      explain(seeds[i], options);
  }
  return all.failed.empty() ? 0 : 1;
}

}  // namespace

int main(int count, char** words_given) {
  Options options;
  for (int i = 1; i < count; i += 2) {
    const std::string_view name{words_given[i]};
    const bool help = name == "--help";
    auto trouble = help            ? std::string{}
                   : i + 1 < count ? take(name, words_given[i + 1], options)
                                   : std::string{name} + " needs a value";
    if (!help && trouble.empty()) continue;
    if (!help) std::cerr << "simulate: " << trouble << "\n\n";
    (help ? std::cout : std::cerr) << usage;
    for (const auto mutation : all_mutations)
      (help ? std::cout : std::cerr) << name_of(mutation) << ' ';
    (help ? std::cout : std::cerr) << '\n';
    return help ? 0 : 2;
  }
  if (!options.script.empty()) return run_script(options);
  switch (options.mode) {
    case Options::Mode::many:
      return run_seeds(options);
    case Options::Mode::show:
      std::cout << described(evening_show(options.seed));
      return 0;
    case Options::Mode::evening:
      std::cout << words(evening(options.seed, options));
      return 0;
    case Options::Mode::trace:
    case Options::Mode::fingerprint:
      break;
  }
  const bool aloud = options.mode == Options::Mode::trace;
  Trace trace{aloud ? &std::cout : nullptr};
  const auto end = World{evening(options.seed, options), options.mutation, &trace}.run();
  if (aloud) return say_violation(end);
  std::cout << std::hex << trace.fingerprint() << ' ' << std::dec << trace.lines() << " lines\n";
  return end.violation ? 1 : 0;
}
