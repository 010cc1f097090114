// SPDX-License-Identifier: Apache-2.0
// Alarms: looked at, acknowledged, shelved.
#include "daemon/cli/commands/rows.hpp"

#include "daemon/cli/run.hpp"
#include "daemon/cli/settings_words.hpp"
#include "daemon/cli/show.hpp"

namespace catwalk::cli {
namespace {

// The answer is the alarm, as it is then.
template <class Words>
int act_on_alarm(Run& run, const std::string& how, const Json& body, Words&& in_words) {
  const auto reply = run.ask("POST", "/alarms/" + escaped(run.word(0)) + '/' + how, body.dump());
  if (!reply) return reply.error();
  run.print(*reply, in_words);
  return exit_done;
}

int acknowledge(Run& run) {
  const auto& words = run.arguments().words;
  const bool all = run.has("--all");
  if (all != words.empty())
    return run.complain(exit_usage, "acknowledge needs numbers of alarms or --all, one of them");
  if (all) return run.act("/alarms/acknowledge", {{"all", true}});
  const auto numbers = parse_ranges(words);
  if (!numbers) return run.complain(exit_usage, numbers.error());
  if (numbers->size() == 1)
    return run.act("/alarms/" + std::to_string(numbers->front()) + "/acknowledge");
  return run.act("/alarms/acknowledge", {{"alarms", *numbers}});
}

int shelve(Run& run) {
  const auto seconds = parse_duration(run.value("--for"));
  if (!seconds) return run.complain(exit_usage, seconds.error());
  return act_on_alarm(
      run, "shelve", {{"for_s", *seconds}, {"why", run.value("--why")}}, [](const Json& alarm) {
        return "shelved until " + to_the_second(text_of(alarm.at("shelved"), "until")) + '\n';
      });
}

int unshelve(Run& run) {
  return act_on_alarm(run, "unshelve", Json::object(), [](const Json& alarm) {
    return text_of(alarm, "detail", "unshelved") + '\n';
  });
}

constexpr CommandInfo rows_on_alarms[]{
    {"alarms", "", 0, 0, "", "what is or was wrong, until it is acknowledged",
     [](Run& run) {
       return run.show("/alarms", [&](const Json& json) {
         return show_alarms(json.at("alarms"), run.colour());
       });
     }},
    {"acknowledge", "[ALARM …]", 0, any_number, "--all",
     "acknowledge alarms by their numbers, or all", acknowledge,
     "Numbers and ranges: 3 5-9. What follows from an alarm is acknowledged with it."},
    {"shelve", "ALARM", 1, 1, "--for --why", "let an alarm draw no attention for a while", shelve,
     "From one minute to a day. Everybody sees that it is shelved, by whom and why; at the end "
     "it "
     "stands as any other, whatever became of it meanwhile.",
     "--for --why"},
    {"unshelve", "ALARM", 1, 1, "", "end a shelving now", unshelve},
};

}  // namespace

std::span<const CommandInfo> commands_on_alarms() { return rows_on_alarms; }

}  // namespace catwalk::cli
