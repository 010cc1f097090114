// SPDX-License-Identifier: Apache-2.0
#include "web/server/feed/feed.hpp"

#include <algorithm>

#include "web/server/documents/render_alarms.hpp"
#include "web/server/documents/render_matrix.hpp"
#include "web/server/documents/render_switch.hpp"
#include "web/server/feed/node_patch.hpp"

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

// Those that differ; all of them where the plan is another, since that says who hears through them.
Json changed_matrices(const rack::Snapshot& last, const rack::Snapshot& next, rack::TimePoint now) {
  Json matrices = Json::array();
  for (const auto& matrix : next.plan->matrices)
    if (last.plan != next.plan || last.find_matrix(matrix.name) != next.find_matrix(matrix.name))
      matrices.push_back(render(matrix, next, now));
  return matrices;
}

// All of a change but its nodes and matrices.
Json news_beside_nodes(const rack::Snapshot& last, const rack::Snapshot& next) {
  Json news = Json::object();
  if (!same_rack(last, next)) news["rack"] = render_rack(next);
  if (last.plan != next.plan || last.order != next.order || last.lock != next.lock ||
      last.control != next.control)
    news["running_order"] = render_order(next);
  if (next.switching && last.switching != next.switching) {
    const bool same = last.switching && last.switching->id == next.switching->id;
    news["switch"] =
        web::render(*next.switching, *next.plan, same ? last.switching.get() : nullptr);
  }
  if (last.lines != next.lines) news["lines"] = lines_of(next);
  if (last.alarms != next.alarms) news["alarms"] = render_alarms(*next.alarms);
  if (last.ticks != next.ticks) news["ticks"] = ticks_of(next);
  if (last.changes != next.changes) news["changes"] = latest_changes(next);
  return news;
}

bool same_nodes(const rack::Snapshot& a, const rack::Snapshot& b) {
  return a.plan == b.plan && a.nodes.size() == b.nodes.size() &&
         a.matrices.size() == b.matrices.size();
}

bool have_new_figures_only(const std::vector<rack::NodeViewPtr>& before,
                           const std::vector<rack::NodeViewPtr>& next) {
  return std::ranges::equal(before, next, [](const auto& one, const auto& other) {
    return one == other || has_new_figures_only(*one, *other);
  });
}

// Those that differ, as both kinds of panels are told them.
struct NewsOfNodes {
  Json whole = Json::array();
  Json unknown = Json::array();
  Json patches = Json::array();
};
NewsOfNodes news_of_nodes(const rack::Snapshot& last, const rack::Snapshot& next,
                          rack::TimePoint now) {
  NewsOfNodes news;
  const bool known = same_nodes(last, next);
  for (std::size_t i = 0; i < next.nodes.size(); ++i) {
    if (known && last.nodes[i] == next.nodes[i]) continue;
    auto node = render(*next.nodes[i], now);
    if (known)
      news.patches.push_back(node_patch(render(*last.nodes[i], now), node));
    else
      news.unknown.push_back(node);
    news.whole.push_back(std::move(node));
  }
  return news;
}

void add_unless_empty(Json& message, const char* name, Json list) {
  if (!list.empty()) message[name] = std::move(list);
}

}  // namespace

void Feed::Kept::add(const SharedText& text) {
  texts_.push_back(text);
  bytes_ += text->size();
  while (texts_.size() > most || (bytes_ > most_bytes && !texts_.empty())) {
    bytes_ -= texts_.front()->size();
    texts_.pop_front();
  }
}

std::optional<std::vector<SharedText>> Feed::Kept::last(std::uint64_t count) const {
  if (count > texts_.size()) return std::nullopt;
  return std::vector<SharedText>(texts_.end() - static_cast<std::ptrdiff_t>(count), texts_.end());
}

Feed::Feed(std::string server_id, rack::SnapshotPtr first, Duration together)
    : server_id_{std::move(server_id)}, last_{std::move(first)}, together_{together} {}

// Nodes are held against the snapshot that was looked at last, so that each reading is looked at
// once.
bool Feed::can_be_held(const rack::Snapshot& next) const {
  const auto& before = held_ ? *held_ : *last_;
  if (!same_nodes(before, next) || !have_new_figures_only(before.nodes, next.nodes) ||
      !have_new_figures_only(before.matrices, next.matrices))
    return false;
  return news_beside_nodes(*last_, next).empty();
}

std::optional<ToldChange> Feed::advance(rack::SnapshotPtr next, rack::TimePoint now) {
  // The wall clock may have been set back.
  const auto since_told = now - told_at_;
  held_for_ = now < told_at_ || since_told >= together_ ? Duration{0} : together_ - since_told;
  if (held_for_ > Duration{0} && can_be_held(*next)) {
    held_ = std::move(next);
    return std::nullopt;
  }
  held_ = nullptr;
  held_for_ = Duration{0};
  auto beside = news_beside_nodes(*last_, *next);
  if (last_->plan != next->plan || last_->matrices != next->matrices)
    beside["matrices"] = changed_matrices(*last_, *next, now);
  auto nodes = news_of_nodes(*last_, *next, now);
  last_ = std::move(next);
  if (beside.empty() && nodes.whole.empty()) return std::nullopt;
  Json whole = {{"type", "change"}, {"sequence", ++sequence_}, {"at", time_text(now)}};
  whole.update(beside);
  auto patched = whole;
  add_unless_empty(whole, "nodes", std::move(nodes.whole));
  add_unless_empty(patched, "nodes", std::move(nodes.unknown));
  add_unless_empty(patched, "node_patches", std::move(nodes.patches));
  const ToldChange told{share(whole), share(patched)};
  kept_whole_.add(told.whole_nodes);
  kept_patches_.add(told.node_patches);
  told_at_ = now;
  return told;
}

SharedText Feed::hello() const {
  return share({{"type", "hello"},
                {"server", server_id_},
                {"epoch", last_->epoch.value},
                {"sequence", sequence_}});
}

SharedText Feed::snapshot(rack::TimePoint now) {
  const bool together_with_last = now >= snapshot_at_ && now - snapshot_at_ <= arrive_together;
  if (snapshot_ && snapshot_sequence_ == sequence_ && together_with_last) return snapshot_;
  Json nodes = Json::array();
  for (const auto& node : last_->nodes) nodes.push_back(render(*node, now));
  Json message = {{"type", "snapshot"},
                  {"sequence", sequence_},
                  {"at", time_text(now)},
                  {"rack", render_rack(*last_)},
                  {"nodes", std::move(nodes)},
                  {"running_order", render_order(*last_)},
                  {"lines", lines_of(*last_)},
                  {"alarms", render_alarms(*last_->alarms)},
                  {"ticks", ticks_of(*last_)},
                  {"changes", latest_changes(*last_)},
                  {"matrices", render_matrices(*last_, now)}};
  if (last_->switching) message["switch"] = web::render(*last_->switching, *last_->plan);
  snapshot_ = share(message);
  snapshot_sequence_ = sequence_;
  snapshot_at_ = now;
  return snapshot_;
}

std::optional<std::vector<SharedText>> Feed::since(std::uint64_t sequence, Telling telling) const {
  if (sequence > sequence_) return std::nullopt;
  const auto& kept = telling == Telling::whole_nodes ? kept_whole_ : kept_patches_;
  return kept.last(sequence_ - sequence);
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
