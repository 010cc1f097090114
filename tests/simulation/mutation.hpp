// SPDX-License-Identifier: Apache-2.0
#pragma once
// What can be broken on purpose, in the harness and never in the product, to
// show that the checks find it.

#include <array>
#include <optional>
#include <string_view>

#include "daemon/base/words.hpp"

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
  order_reversed,         // a switch takes the last step of a way first
  supply_cut_early,       // a matrix moves its supplies first, and its routes when they are cut
};
inline constexpr std::array all_mutations{
    Mutation::lying_store,     Mutation::forgetful_store,  Mutation::silent_alarms,
    Mutation::lost_answers,    Mutation::lost_records,     Mutation::answered_twice,
    Mutation::flattering_line, Mutation::moody_node,       Mutation::planner_without_order,
    Mutation::blind_rules,     Mutation::forgotten_epochs, Mutation::supply_cut_early,
    Mutation::order_reversed};

constexpr auto words_of(Mutation) {
  using enum Mutation;
  return WordTable<Mutation, 14>{{{"none", none},
                                  {"lying-store", lying_store},
                                  {"forgetful-store", forgetful_store},
                                  {"silent-alarms", silent_alarms},
                                  {"lost-answers", lost_answers},
                                  {"lost-records", lost_records},
                                  {"answered-twice", answered_twice},
                                  {"flattering-line", flattering_line},
                                  {"moody-node", moody_node},
                                  {"planner-without-order", planner_without_order},
                                  {"blind-rules", blind_rules},
                                  {"forgotten-epochs", forgotten_epochs},
                                  {"order-reversed", order_reversed},
                                  {"supply-cut-early", supply_cut_early}}};
}
using catwalk::name_of;

}  // namespace catwalk::simulation
