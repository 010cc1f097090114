// SPDX-License-Identifier: Apache-2.0
#include "config/receiver_section.hpp"

#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using rf::Frequency;

constexpr std::size_t most_receivers = 256;
constexpr std::size_t most_nodes_of_a_branch = 32;
constexpr std::size_t most_blocking_points = 64;
constexpr std::size_t most_spurious_responses = 64;
constexpr std::size_t longest_response_name = 40;  // bytes

std::vector<plan::BlockingPoint> read_blocking(const Cursor& at) {
  std::vector<plan::BlockingPoint> points;
  Rising offsets{6, "MHz"};
  for (const Cursor& element : at.elements(1, most_blocking_points)) {
    const Object object{element, {"offset_mhz", "rejection_db"}, {}};
    const auto offset =
        object["offset_mhz"].megahertz(Frequency::kilohertz(1), Frequency::kilohertz(6'000'000));
    const auto rejection = read_ratio(object["rejection_db"], 0, 150);
    const bool rises = !offset || offsets.add(offset->hertz(), object["offset_mhz"]);
    if (offset && rejection && rises) points.push_back({*offset, *rejection});
  }
  return points;
}

std::vector<plan::SpuriousResponse> read_spurious_responses(const Cursor& at) {
  constexpr auto farthest = Frequency::kilohertz(6'000'000);
  std::vector<plan::SpuriousResponse> responses;
  Once<std::int64_t> offsets;
  for (const Cursor& element : at.elements(1, most_spurious_responses)) {
    const Object object{element, {"offset_mhz", "rejection_db"}, {"name"}};
    const auto offset = object["offset_mhz"].megahertz(-farthest, farthest);
    const auto rejection = read_ratio(object["rejection_db"], 0, 150);
    const Cursor at_name = object["name"];
    const auto name = at_name.text(1, longest_response_name);
    if (offset == Frequency{}) {
      object["offset_mhz"].report("is the channel itself",
                                  "below 0 or above 0: the other frequency less the wanted one");
      continue;
    }
    if (offset && offsets.add(offset->hertz(), object["offset_mhz"]) && rejection &&
        name.has_value() == at_name.present())
      responses.push_back({name.value_or(""), *offset, *rejection});
  }
  return responses;
}

std::optional<plan::ReceiverInput> read_input(const Cursor& at) {
  if (!at.present()) return std::nullopt;
  const Object object{
      at,
      {"noise_figure_db", "sensitivity_dbm", "overload_dbm", "ip3_dbm", "protection_ratio_db"},
      {"blocking", "spurious_responses"}};
  const auto noise_figure = read_ratio(object["noise_figure_db"], 0, 40);
  const auto sensitivity = read_level(object["sensitivity_dbm"], -140, 0);
  const auto overload = read_level(object["overload_dbm"], -60, 30);
  const auto ip3 = read_level(object["ip3_dbm"], -60, 60);
  const auto protection_ratio = read_ratio(object["protection_ratio_db"], 0, 60);
  auto blocking = read_blocking(object["blocking"]);
  auto responses = read_spurious_responses(object["spurious_responses"]);
  if (sensitivity && overload && *overload <= *sensitivity) {
    object["overload_dbm"].report("is not above the sensitivity",
                                  "above the value of \"sensitivity_dbm\"");
    return std::nullopt;
  }
  if (!noise_figure || !sensitivity || !overload || !ip3 || !protection_ratio) return std::nullopt;
  return plan::ReceiverInput{.noise_figure = *noise_figure,
                             .sensitivity = *sensitivity,
                             .overload = *overload,
                             .input_ip3 = *ip3,
                             .protection_ratio = *protection_ratio,
                             .blocking = std::move(blocking),
                             .spurious_responses = std::move(responses)};
}

class ReceiverReader {
 public:
  ReceiverReader(const Cables& cables, MatrixSection& matrices, RackFacts& facts,
                 std::vector<CableUse>& uses)
      : cables_{cables}, matrices_{matrices}, facts_{facts}, uses_{uses} {
    for (const auto& [name, node] : facts.nodes) nodes_.push_back(name);
  }

  std::optional<plan::Receiver> read(const Cursor& at) {
    const Object object{at, {"name", "branches"}, {"input"}};
    const auto name = object["name"].name();
    if (name && names_.add(*name, object["name"]))
      facts_.receivers.push_back(*name);
    else
      facts_.receivers_incomplete = true;
    plan::Receiver receiver;
    const std::size_t first_use = uses_.size();
    Once<std::string> once;
    std::set<plan::InputOf> inputs;
    for (const Cursor& branch_at : object["branches"].elements(1, 2))
      if (auto branch = read_branch(branch_at, once, inputs))
        receiver.branches.push_back(std::move(*branch));
    receiver.input = read_input(object["input"]);
    if (!name) {
      uses_.erase(uses_.begin() + static_cast<std::ptrdiff_t>(first_use), uses_.end());
      return std::nullopt;
    }
    receiver.name = {*name};
    for (std::size_t i = first_use; i < uses_.size(); ++i) uses_[i].on = receiver.name;
    return receiver;
  }

 private:
  // What an output of a matrix hears its routes say.
  std::optional<plan::Branch> read_routed(const Cursor& at, std::set<plan::InputOf>& inputs) {
    const Object object{at, {"from"}, {"chain"}};
    plan::Branch branch;
    branch.chain = read_chain(object["chain"], cables_, uses_);
    branch.from = matrices_.read_output(object["from"]);
    if (!branch.from) return std::nullopt;
    matrices_.check_diversity(at, *branch.from, inputs);
    return branch;
  }

  // A list of nodes, any of which covers the branch, or an object that says more than that.
  std::optional<plan::Branch> read_branch(const Cursor& at, Once<std::string>& once,
                                          std::set<plan::InputOf>& inputs) {
    if (at.is_object() && at.member_if_any("from").present()) return read_routed(at, inputs);
    plan::Branch branch;
    Cursor at_nodes = at;
    Cursor at_combiner;
    if (at.is_object()) {
      const Object object{at, {"nodes"}, {"combiner_excess_loss_db", "chain"}};
      at_nodes = object["nodes"];
      at_combiner = object["combiner_excess_loss_db"];
      branch.combiner_excess_loss = read_ratio(at_combiner, 0, 30).value_or(rf::Decibel{});
      branch.chain = read_chain(object["chain"], cables_, uses_);
    }
    const std::vector<Cursor> elements = at_nodes.elements(1, most_nodes_of_a_branch);
    for (const Cursor& element : elements) {
      const auto node = element.name();
      // A node on both branches of a receiver would be no diversity, so it is refused there too.
      if (node && known_or_reported(element, *node, "a node", nodes_, facts_.nodes_incomplete) &&
          once.add(*node, element)) {
        if (facts_.nodes[*node].ends_at_matrix)
          element.report("ends at a matrix, and cannot end here as well",
                         "a node without \"ends_at\"");
        branch.nodes.push_back({*node});
      }
    }
    if (elements.size() == 1)
      at_combiner.report("is given, but one node needs no combiner",
                         "no member \"combiner_excess_loss_db\", or several nodes");
    if (branch.nodes.empty()) return std::nullopt;
    return branch;
  }

  const Cables& cables_;
  MatrixSection& matrices_;
  RackFacts& facts_;
  std::vector<CableUse>& uses_;
  std::vector<std::string> nodes_;
  Once<std::string> names_;
};

}  // namespace

std::vector<plan::Receiver> read_receivers(const Cursor& at, const Cables& cables,
                                           MatrixSection& matrices, RackFacts& facts,
                                           std::vector<CableUse>& uses) {
  ReceiverReader reader{cables, matrices, facts, uses};
  facts.receivers_incomplete = !at.is_array();
  return at.elements(0, most_receivers,
                     [&](const Cursor& element) { return reader.read(element); });
}

}  // namespace catwalk::config
