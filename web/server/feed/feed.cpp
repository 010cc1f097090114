// SPDX-License-Identifier: Apache-2.0
#include "web/server/feed/feed.hpp"

#include <algorithm>

#include "web/server/documents/render_switch.hpp"

namespace catwalk::web {
namespace {

SharedText share(const Json& json) {
  return std::make_shared<const std::string>(
      json.dump(-1, ' ', false, Json::error_handler_t::replace));
}

Json lines_of(const rack::Snapshot& snapshot) {
  Json lines = Json::array();
  for (const auto& line : *snapshot.lines) lines.push_back(render(line));
  return lines;
}

Json ticks_of(const rack::Snapshot& snapshot) {
  Json ticks = Json::array();
  for (const auto& tick : *snapshot.ticks) ticks.push_back(render(tick));
  return ticks;
}

Json changes_of(const rack::Snapshot& snapshot, std::size_t from) {
  Json changes = Json::array();
  for (std::size_t i = from; i < snapshot.changes->size(); ++i)
    changes.push_back(render((*snapshot.changes)[i], snapshot));
  return changes;
}

// The newest changes are enough for a panel to follow; the whole list is there for a GET.
constexpr std::size_t changes_told = 16;

Json latest_changes(const rack::Snapshot& snapshot) {
  const auto count = snapshot.changes->size();
  return changes_of(snapshot, count > changes_told ? count - changes_told : 0);
}

bool same_rack(const rack::Snapshot& a, const rack::Snapshot& b) {
  // The rack names the nodes that another controller has.
  const auto held_alike = [](const rack::NodeViewPtr& left, const rack::NodeViewPtr& right) {
    return left == right || left->held == right->held;
  };
  return a.plan == b.plan && std::ranges::equal(a.nodes, b.nodes, held_alike) &&
         a.segment == b.segment && a.epoch == b.epoch && a.control == b.control &&
         a.watching_because == b.watching_because && a.other_heard == b.other_heard &&
         a.lock == b.lock;
}

}  // namespace

Feed::Feed(std::string server_id, rack::SnapshotPtr first)
    : server_id_{std::move(server_id)}, last_{std::move(first)} {}

SharedText Feed::advance(rack::SnapshotPtr next, rack::TimePoint now) {
  Json message = {{"type", "change"}, {"sequence", sequence_ + 1}, {"at", time_text(now)}};
  const auto without_news = message.size();
  if (!same_rack(*last_, *next)) message["rack"] = render_rack(*next);
  Json nodes = Json::array();
  const bool same_nodes = last_->plan == next->plan && last_->nodes.size() == next->nodes.size();
  for (std::size_t i = 0; i < next->nodes.size(); ++i)
    if (!same_nodes || last_->nodes[i] != next->nodes[i])
      nodes.push_back(render(*next->nodes[i], now));
  if (!nodes.empty()) message["nodes"] = std::move(nodes);
  if (last_->plan != next->plan || last_->order != next->order || last_->lock != next->lock ||
      last_->control != next->control)
    message["running_order"] = render_order(*next);
  if (next->switching && last_->switching != next->switching) {
    const bool same = last_->switching && last_->switching->id == next->switching->id;
    message["switch"] =
        web::render(*next->switching, *next->plan, same ? last_->switching.get() : nullptr);
  }
  if (last_->lines != next->lines) message["lines"] = lines_of(*next);
  if (last_->alarms != next->alarms) message["alarms"] = render_alarms(*next->alarms);
  if (last_->ticks != next->ticks) message["ticks"] = ticks_of(*next);
  if (last_->changes != next->changes) message["changes"] = latest_changes(*next);
  last_ = std::move(next);
  if (message.size() == without_news) return nullptr;
  ++sequence_;
  changes_.push_back(share(message));
  if (changes_.size() > changes_kept) changes_.pop_front();
  return changes_.back();
}

SharedText Feed::hello() const {
  return share({{"type", "hello"},
                {"server", server_id_},
                {"epoch", last_->epoch.value},
                {"sequence", sequence_}});
}

SharedText Feed::snapshot(rack::TimePoint now) {
  const bool together_with_last = now >= snapshot_at_ && now - snapshot_at_ <= together;
  if (snapshot_ && snapshot_sequence_ == sequence_ && together_with_last) return snapshot_;
  Json nodes = Json::array();
  for (const auto& node : last_->nodes) nodes.push_back(render(*node, now));
  Json message = {{"type", "snapshot"},        {"sequence", sequence_},
                  {"at", time_text(now)},      {"rack", render_rack(*last_)},
                  {"nodes", std::move(nodes)}, {"running_order", render_order(*last_)},
                  {"lines", lines_of(*last_)}, {"alarms", render_alarms(*last_->alarms)},
                  {"ticks", ticks_of(*last_)}, {"changes", latest_changes(*last_)}};
  if (last_->switching) message["switch"] = web::render(*last_->switching, *last_->plan);
  snapshot_ = share(message);
  snapshot_sequence_ = sequence_;
  snapshot_at_ = now;
  return snapshot_;
}

std::optional<std::vector<SharedText>> Feed::since(std::uint64_t sequence) const {
  if (sequence > sequence_ || sequence_ - sequence > changes_.size()) return std::nullopt;
  const auto missed = static_cast<std::ptrdiff_t>(sequence_ - sequence);
  return std::vector<SharedText>(changes_.end() - missed, changes_.end());
}

PanelAsk read_panel_message(const std::string& text, bool is_text) {
  const auto problem = [](const std::string& value, const std::string& sentence) {
    return PanelAsk{false, share({{"type", "problem"},
                                  {"detail", sentence},
                                  {"value", value},
                                  {"allowed", R"({"type":"snapshot"})"}})};
  };
  if (!is_text) return problem("a binary message", "The feed speaks text messages only.");
  const auto json = nlohmann::json::parse(text, nullptr, false);
  const auto shown = text.substr(0, 80);
  // The parser takes a NUL for the end of the text.
  if (json.is_discarded() || text.find('\0') != std::string::npos)
    return problem(shown, "The message is not JSON.");
  if (!json.is_object() || !json.contains("type"))
    return problem(shown, "The message is not an object with a type.");
  if (json.size() != 1 || json["type"] != "snapshot")
    return problem(shown,
                   "The feed understands one message: it sends a snapshot when asked for one.");
  return {true, nullptr};
}

}  // namespace catwalk::web
