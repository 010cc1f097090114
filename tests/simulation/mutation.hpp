// SPDX-License-Identifier: Apache-2.0
#pragma once
// What can be broken on purpose, in the harness and never in the product, to
// show that the checks find it.

#include <array>
#include <optional>
#include <string_view>

namespace catwalk::simulation {

enum class Mutation {
  none,
  lying_store,            // the last records that it says are durable do not survive a
                          // crash
  forgetful_store,        // loses the wanted settings of one record in twenty
  silent_alarms,          // the store drops what it is told of alarms
  lost_answers,           // one answer of a node in a hundred never reaches the core
  lost_records,           // one word of the store in a hundred never reaches the core
  answered_twice,         // one request in twenty is answered twice
  flattering_line,        // what a node reads back is what it was last told, whatever
                          // it has
  moody_node,             // nodes change their gain by themselves, now and then
  planner_without_order,  // every way is one step: whatever has to move moves at
                          // once
  blind_rules,            // the core does not know the show's limits, microphones and
                          // transmitters
  forgotten_epochs,       // no line is told what it spoke under before
};
inline constexpr std::array all_mutations{
    Mutation::lying_store,     Mutation::forgetful_store, Mutation::silent_alarms,
    Mutation::lost_answers,    Mutation::lost_records,    Mutation::answered_twice,
    Mutation::flattering_line, Mutation::moody_node,      Mutation::planner_without_order,
    Mutation::blind_rules,     Mutation::forgotten_epochs};

constexpr std::string_view name_of(Mutation mutation) {
  switch (mutation) {
    case Mutation::none:
      return "none";
    case Mutation::lying_store:
      return "lying-store";
    case Mutation::forgetful_store:
      return "forgetful-store";
    case Mutation::silent_alarms:
      return "silent-alarms";
    case Mutation::lost_answers:
      return "lost-answers";
    case Mutation::lost_records:
      return "lost-records";
    case Mutation::answered_twice:
      return "answered-twice";
    case Mutation::flattering_line:
      return "flattering-line";
    case Mutation::moody_node:
      return "moody-node";
    case Mutation::planner_without_order:
      return "planner-without-order";
    case Mutation::blind_rules:
      return "blind-rules";
    case Mutation::forgotten_epochs:
      return "forgotten-epochs";
  }
  return "";
}

constexpr std::optional<Mutation> mutation_named(std::string_view name) {
  if (name == "none") return Mutation::none;
  for (const auto mutation : all_mutations)
    if (name_of(mutation) == name) return mutation;
  return std::nullopt;
}

}  // namespace catwalk::simulation
