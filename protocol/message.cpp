// SPDX-License-Identifier: Apache-2.0
#include "protocol/message.hpp"

#include "protocol/whole.hpp"

namespace catwalk::protocol {
namespace {

struct Name {
  std::string_view operator()(const Request& request) const { return std::visit(*this, request); }
  std::string_view operator()(const Reply& reply) const { return std::visit(*this, reply); }

  std::string_view operator()(const StageMatrix&) const { return "stage"; }
  std::string_view operator()(const MatrixState&) const { return "matrix_reading"; }
  std::string_view operator()(const Identify&) const { return "identify"; }
  std::string_view operator()(const Read&) const { return "read"; }
  std::string_view operator()(const Stage&) const { return "stage"; }
  std::string_view operator()(const Apply&) const { return "apply"; }
  std::string_view operator()(const Discard&) const { return "discard"; }
  std::string_view operator()(const Store&) const { return "store"; }
  std::string_view operator()(const Locate&) const { return "locate"; }
  std::string_view operator()(const Find&) const { return "find"; }
  std::string_view operator()(const Mute&) const { return "mute"; }
  std::string_view operator()(const Unmute&) const { return "unmute"; }
  std::string_view operator()(const Assign&) const { return "assign"; }
  std::string_view operator()(const Reclaim&) const { return "reclaim"; }
  std::string_view operator()(const AskController&) const { return "ask_controller"; }
  std::string_view operator()(const AskKind&) const { return "ask_kind"; }
  std::string_view operator()(const ReadPart&) const { return "read_part"; }
  std::string_view operator()(const StagePart&) const { return "stage_part"; }
  std::string_view operator()(const Identity&) const { return "identity"; }
  std::string_view operator()(const Reading&) const { return "reading"; }
  std::string_view operator()(const Done&) const { return "done"; }
  std::string_view operator()(const Found&) const { return "found"; }
  std::string_view operator()(const Wait&) const { return "wait"; }
  std::string_view operator()(const Refusal&) const { return "refusal"; }
  std::string_view operator()(const Report&) const { return "report"; }
  std::string_view operator()(const ControllerHeard&) const { return "controller_heard"; }
  std::string_view operator()(const Kind&) const { return "kind"; }
  std::string_view operator()(const MatrixReading&) const { return "matrix_reading"; }
  std::string_view operator()(const Part&) const { return "part"; }
  std::string_view operator()(const MatrixReport&) const { return "matrix_report"; }
};

}  // namespace

std::string_view name_of(const Message& message) { return std::visit(Name{}, message); }
std::string_view name_of(const Ask& ask) { return std::visit(Name{}, ask); }
std::string_view name_of(const Answer& answer) { return std::visit(Name{}, answer); }

std::optional<AnyReading> reading_in(const Answer& answer) {
  if (const auto* reading = std::get_if<Reading>(&answer)) return *reading;
  if (const auto* state = std::get_if<MatrixState>(&answer)) return *state;
  return std::nullopt;
}

std::string_view sentence_of(RefusalReason reason) {
  switch (reason) {
    case RefusalReason::unknown_message:
      return "the node does not know this message";
    case RefusalReason::malformed:
      return "the message is malformed";
    case RefusalReason::gain_out_of_range:
      return "the gain is out of the node's range";
    case RefusalReason::gain_off_step:
      return "the gain is not on the node's steps";
    case RefusalReason::filter_unknown:
      return "the node has no such filter";
    case RefusalReason::centre_out_of_range:
      return "the centre is out of the filter's range";
    case RefusalReason::centre_off_step:
      return "the centre is not on the filter's steps";
    case RefusalReason::ticket_unknown:
      return "nothing is staged under this ticket";
    case RefusalReason::epoch_too_low:
      return "another controller has taken over the node";
    case RefusalReason::storage_failed:
      return "the node could not store its settings";
    case RefusalReason::session_unknown:
      return "the node has restarted since it was last heard";
    case RefusalReason::ticket_used:
      return "this ticket has been applied before, with other settings";
    case RefusalReason::proof_wrong:
      return "the node does not take our key's proof; its key is another, or it has restarted "
             "since";
    case RefusalReason::part_unknown:
      return "the node has no such part";
    case RefusalReason::route_impossible:
      return "an output cannot take these inputs";
    case RefusalReason::trim_out_of_range:
      return "the trim of an input is out of the node's range";
    case RefusalReason::trim_off_step:
      return "the trim of an input is not on the node's steps";
    case RefusalReason::supply_impossible:
      return "an input cannot give this voltage";
  }
  return "the node refused for a reason that this version does not know";
}

}  // namespace catwalk::protocol
