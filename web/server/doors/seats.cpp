// SPDX-License-Identifier: Apache-2.0
#include "web/server/doors/seats.hpp"

#include <numeric>

namespace catwalk::web {
namespace {

bool has_roles(Guests kind) { return kind == Guests::callers || kind == Guests::panels; }

std::string all_of_one(const Holder& holder, std::size_t most) {
  const auto number = std::to_string(most);
  switch (holder.kind) {
    case Guests::trusted:
    case Guests::users:
      return "The user \"" + holder.name + "\" has " + number +
             " connections open on this socket, which is all that one user may have.";
    case Guests::strangers:
      return "From " + holder.name + " there are " + number +
             " connections without a token, which is all that one address may have.";
    case Guests::callers:
      return "\"" + holder.name + "\" has " + number +
             " requests under way, which is all that one token may have.";
    case Guests::panels:
      return "\"" + holder.name + "\" has " + number +
             " panels open, which is all that one token may have. Close one that nobody looks at.";
  }
  return "?";
}

std::string all_of_kind(const Holder& holder, std::size_t most) {
  const auto number = std::to_string(most);
  const auto role = std::string{name_of(holder.role)};
  switch (holder.kind) {
    case Guests::trusted:
    case Guests::users:
      return "Too many connections are open on this socket: " + number + '.';
    case Guests::strangers:
      return "Too many connections without a token are open: " + number + '.';
    case Guests::callers:
      return "Too many requests are under way for the role " + role + ": " + number + '.';
    case Guests::panels:
      return "Too many panels are open for the role " + role + ": " + number + '.';
  }
  return "?";
}

}  // namespace

const Allowance& SeatLimits::of(Guests kind) const {
  switch (kind) {
    case Guests::trusted:
      return trusted;
    case Guests::users:
      return users;
    case Guests::strangers:
      return strangers;
    case Guests::callers:
      return callers;
    case Guests::panels:
      return panels;
  }
  return strangers;
}

std::size_t SeatLimits::up_to(Guests kind, Role role) const {
  const auto all = of(kind).all;
  if (!has_roles(kind) || role == Role::engineer) return all;
  return role == Role::watch ? all / 2 : all * 3 / 4;
}

std::size_t SeatLimits::all() const {
  return trusted.all + users.all + strangers.all + callers.all + panels.all;
}

std::optional<Seats::Full> Seats::full(const Holder& newcomer) const {
  const auto of_one = limits_.of(newcomer.kind).of_one;
  if (!newcomer.name.empty() && taken_by(newcomer) >= of_one)
    return Full{true, all_of_one(newcomer, of_one)};
  const auto most = limits_.up_to(newcomer.kind, newcomer.role);
  if (taken_up_to(newcomer.kind, newcomer.role) >= most ||
      taken(newcomer.kind) >= limits_.of(newcomer.kind).all)
    return Full{false, all_of_kind(newcomer, most)};
  return std::nullopt;
}

void Seats::take(const Holder& holder) {
  auto& mine = counts(holder.kind);
  ++mine.by_role[static_cast<std::size_t>(holder.role)];
  ++mine.by_name[holder.name];
}

void Seats::give_back(const Holder& holder) {
  auto& mine = counts(holder.kind);
  --mine.by_role[static_cast<std::size_t>(holder.role)];
  const auto name = mine.by_name.find(holder.name);
  if (--name->second == 0) mine.by_name.erase(name);
}

std::size_t Seats::taken(Guests kind) const { return taken_up_to(kind, Role::engineer); }

std::size_t Seats::taken_up_to(Guests kind, Role role) const {
  const auto& by_role = counts(kind).by_role;
  const auto last = has_roles(kind) ? static_cast<std::size_t>(role) + 1 : by_role.size();
  return std::accumulate(by_role.begin(), by_role.begin() + static_cast<std::ptrdiff_t>(last),
                         std::size_t{0});
}

std::size_t Seats::taken_by(const Holder& holder) const {
  const auto& by_name = counts(holder.kind).by_name;
  const auto found = by_name.find(holder.name);
  return found == by_name.end() ? 0 : found->second;
}

bool Seats::would_do(const Holder& other, const Holder& newcomer, const Full& full) {
  if (other.kind != newcomer.kind) return false;
  if (full.of_name) return other.name == newcomer.name;
  return !has_roles(newcomer.kind) || other.role <= newcomer.role;
}

}  // namespace catwalk::web
