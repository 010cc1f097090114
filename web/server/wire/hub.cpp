// SPDX-License-Identifier: Apache-2.0
#include "web/server/wire/hub.hpp"

#include <algorithm>

#include "web/server/wire/process_figures.hpp"

namespace catwalk::web {

std::optional<Seats::Full> Hub::make_room(const Holder& newcomer) {
  for (;;) {
    const auto full = seats.full(newcomer);
    if (!full) return std::nullopt;
    const auto found = std::ranges::find_if(
        queue, [&](const Seat* seat) { return Seats::would_do(seat->holder(), newcomer, *full); });
    if (found == queue.end()) return full;
    auto& seat = **found;
    seat.guest().give_way();
    seat.leave();
  }
}

PanelSideFigures Hub::figures() {
  timings.look(*gate.snapshot());
  PanelSideFigures said;
  said.doors = keeper.figures();
  said.logins = keeper.logins();
  said.logins_refused = keeper.logins_refused();
  for (const auto& weak : panels)
    if (const auto panel = weak.lock())
      if (const auto telling = panel->telling())
        ++(*telling == Telling::whole_nodes ? said.panels_whole : said.panels_patches);
  said.feed_changes = feed.sequence();
  said.feed_backlogs_dropped = backlogs_dropped;
  said.reloads_taken = reloads_taken;
  said.reloads_refused = reloads_refused;
  if (tls) said.certificate_ends = tls->ends();
  said.timings = timings;
  said.process = process_figures();
  said.version = options.version;
  said.commit = options.commit;
  return said;
}

void Hub::replace_doors(std::vector<Token> tokens, std::vector<LocalUser> local_users) {
  doors.tokens = std::move(tokens);
  doors.local_users = std::move(local_users);
  const auto good = credentials_of(doors);
  // Whoever is turned out may leave the list.
  std::vector<Guest*> out;
  for (const auto* seat : taken)
    if (!seat->credential().empty() && !good.contains(seat->credential()))
      out.push_back(&seat->guest());
  for (auto* guest : out) guest->turn_out();
}

Seat::Seat(std::shared_ptr<Hub> hub, Holder holder, Guest* guest)
    : hub_{std::move(hub)},
      holder_{std::move(holder)},
      guest_{guest},
      in_taken_{hub_->taken.insert(hub_->taken.end(), this)} {
  hub_->seats.take(holder_);
}

std::optional<Seats::Full> Seat::become(const Holder& holder, const std::string& credential) {
  if (!held_) return Seats::Full{};
  if (holder != holder_) {
    leave_queue();
    if (auto full = hub_->make_room(holder)) return full;
    hub_->seats.give_back(holder_);
    holder_ = holder;
    hub_->seats.take(holder_);
  }
  credential_ = credential;
  return std::nullopt;
}

void Seat::queue_up() {
  if (!held_) return;
  leave_queue();
  in_queue_ = hub_->queue.insert(hub_->queue.end(), this);
  in_line_ = true;
}

void Seat::leave_queue() {
  if (!in_line_) return;
  in_line_ = false;
  hub_->queue.erase(in_queue_);
}

void Seat::leave() {
  if (!held_) return;
  held_ = false;
  leave_queue();
  hub_->taken.erase(in_taken_);
  hub_->seats.give_back(holder_);
}

}  // namespace catwalk::web
