// SPDX-License-Identifier: Apache-2.0
// BusEngine, continued: the search, and what is known of those that it found.

#include <algorithm>
#include <utility>

#include "drivers/bus/bus_engine.hpp"

namespace catwalk::drivers {

using protocol::Address;
using protocol::Found;
using protocol::NodeUid;

namespace {

// Patience with a stranger that puts the question off who it is.
constexpr Micros longest_wait_of_stranger{1'000'000};

}  // namespace

void BusEngine::discover(TimePoint now) {
  if (!up_) {
    out_.notices.push_back(DiscoveryEnded{0, "the line is down"});
    return;
  }
  if (held_ || !speaks_) {
    out_.notices.push_back(DiscoveryEnded{0, "another controller speaks on the line"});
    return;
  }
  if (search_) return;
  search_.emplace();
  found_.clear();
  forget_guests();
  pump(now);
}

bool BusEngine::start_search(TimePoint now) {
  if (!search_) return false;
  if (search_->bisection.nodes().size() >= most_discovered) return start_introduction(now);
  Exchange exchange;
  const auto& step = search_->bisection.next();
  if (const auto* find = std::get_if<protocol::Find>(&step)) {
    exchange.purpose = Purpose::find;
    start(std::move(exchange), *find, Address::broadcast(), broadcast_sequence_++, 1, now);
  } else if (const auto* mute = std::get_if<protocol::Mute>(&step)) {
    exchange.purpose = Purpose::mute;
    start(std::move(exchange), *mute, Address::broadcast(), broadcast_sequence_++, config_.tries,
          now);
  } else if (std::holds_alternative<protocol::Unmute>(step)) {
    exchange.purpose = Purpose::unmute;
    exchange.answered = false;
    start(std::move(exchange), protocol::Unmute{}, Address::broadcast(), broadcast_sequence_++,
          config_.broadcasts, now);
  } else {
    return start_introduction(now);
  }
  return true;
}

// Only when all are found, since one that shares its address must not be asked there.
bool BusEngine::start_introduction(TimePoint now) {
  const auto& found = search_->bisection.nodes();
  while (search_->introduced < found.size()) {
    const Found& next = found[search_->introduced];
    if (const Doubt doubt = doubt_of(next, found); doubt != Doubt::none) {
      introduced(doubt);
      continue;
    }
    if (now < search_->not_before) return false;
    Exchange exchange;
    exchange.purpose = Purpose::introduce;
    start(std::move(exchange), protocol::Identify{}, next.address, broadcast_sequence_++,
          config_.tries, now);
    return true;
  }
  const auto* finished = std::get_if<protocol::Bisection::Finished>(&search_->bisection.next());
  search_ended(finished != nullptr ? finished->trouble
                                   : "more than " + std::to_string(most_discovered) +
                                         " nodes answer: the others are left out");
  return false;
}

void BusEngine::introduction_answered(const protocol::Reply& reply, TimePoint now) {
  if (!search_) return;
  if (const auto* wait = std::get_if<protocol::Wait>(&reply)) {
    if (!search_->deferral.put_off(*wait, now, longest_wait_of_stranger, search_->not_before))
      introduced(Doubt::no_answer);
    return;
  }
  const auto* identity = std::get_if<protocol::Identity>(&reply);
  if (identity == nullptr) return introduced(Doubt::not_understood);
  const bool itself = identity->uid == search_->bisection.nodes()[search_->introduced].uid;
  if (!itself) return introduced(Doubt::another_answers);
  introduced(Doubt::none, *identity);
}

void BusEngine::introduced(Doubt doubt, std::optional<protocol::Identity> identity) {
  const Found& found = search_->bisection.nodes()[search_->introduced++];
  search_->deferral.over();
  search_->not_before = {};
  found_.push_back(found);
  if (found.address.is_assignable()) taken_[found.address.value] = true;
  out_.notices.push_back(NodeDiscovered{
      found.uid, found.address, is_our_own(found.uid), {}, std::move(identity), doubt});
}

void BusEngine::search_ended(std::string trouble) {
  // The line went down: what was found is told all the same.
  while (search_->introduced < search_->bisection.nodes().size()) introduced(Doubt::not_asked);
  out_.notices.push_back(DiscoveryEnded{found_.size(), std::move(trouble)});
  search_.reset();
}

bool BusEngine::is_our_own(NodeUid uid) const {
  const auto index = index_of(uid);
  return index && !nodes_[*index].borrowed;
}

Doubt BusEngine::doubt_of(const Found& found, const std::vector<Found>& among) const {
  if (!found.address.is_assignable()) return Doubt::no_address;
  const auto is_there_too = [&](const auto& other) {
    return other.uid != found.uid && other.address == found.address;
  };
  const bool shared = std::any_of(among.begin(), among.end(), is_there_too) ||
                      std::any_of(nodes_.begin(), nodes_.end(), is_there_too);
  return shared ? Doubt::address_shared : Doubt::none;
}

bool BusEngine::take_in(NodeUid uid) {
  const auto found = std::find_if(found_.begin(), found_.end(),
                                  [&](const Found& other) { return other.uid == uid; });
  if (found == found_.end()) return false;
  Node borrowed = node_of(uid, std::nullopt);
  borrowed.borrowed = true;
  borrowed.assign = doubt_of(*found, found_) != Doubt::none;
  borrowed.address = borrowed.assign ? free_address() : found->address;
  nodes_.push_back(std::move(borrowed));
  return true;
}

void BusEngine::met_borrowed(const Node& borrowed, const protocol::Identity& identity) {
  for (Found& found : found_) {
    if (found.uid == borrowed.uid) found.address = borrowed.address;
  }
  out_.notices.push_back(NodeDiscovered{borrowed.uid, borrowed.address, false, {}, identity});
}

// Those that nobody waits for.
void BusEngine::forget_guests() {
  std::optional<NodeUid> asked;
  if (exchange_ && exchange_->node) asked = nodes_[*exchange_->node].uid;
  std::erase_if(nodes_, [&](const Node& node) {
    return node.borrowed && node.uid != asked &&
           std::none_of(queue_.begin(), queue_.end(),
                        [&](const Queued& queued) { return queued.command.node == node.uid; });
  });
  if (asked) exchange_->node = index_of(*asked);
}

}  // namespace catwalk::drivers
