// SPDX-License-Identifier: Apache-2.0
#include "daemon/control/command.hpp"

#include <algorithm>
#include <array>

#include "daemon/control/arguments.hpp"

namespace catwalk::control {
namespace {

constexpr std::string_view root = "/catwalk/";
constexpr std::size_t longest_text = 64;  // of a message that a cue may wait for
constexpr std::size_t most_names_told = 16;

// `"arrival", "finale"`
template <class Container>
std::string names_in(const Container& container) {
  std::string names;
  for (std::size_t i = 0; i < container.size(); ++i) {
    if (i == most_names_told)
      return names + " or one of " + std::to_string(container.size() - i) + " more";
    names += (names.empty() ? "" : ", ") + in_quotes(container[i].name.text);
  }
  return names;
}

std::string segments_of(const rack::Snapshot& snapshot) {
  return "a segment of the show: " + names_in(snapshot.plan->segments);
}

std::string cues_of(const rack::Snapshot& snapshot) {
  const auto& cues = snapshot.plan->running_order.cues;
  return cues.empty() ? "nothing, since the show has no cues" : "a cue: " + names_in(cues);
}

std::optional<plan::SegmentName> segment_in(Arguments& arguments, const rack::Snapshot& snapshot) {
  auto text = arguments.text("SEGMENT", segments_of(snapshot), true);
  if (!text) return std::nullopt;
  plan::SegmentName name{std::move(*text)};
  if (snapshot.plan->find(name) != nullptr) return name;
  arguments.refuse("SEGMENT", in_quotes(name.text), segments_of(snapshot));
  return std::nullopt;
}

Command preview(Arguments& arguments, const rack::Snapshot& snapshot) {
  return AskPreview{segment_in(arguments, snapshot).value_or(plan::SegmentName{})};
}

Command go(Arguments& arguments, const rack::Snapshot& snapshot) {
  return Go{segment_in(arguments, snapshot)};
}

Command next(Arguments&, const rack::Snapshot&) { return Go{}; }

Command arm(Arguments& arguments, const rack::Snapshot& snapshot) {
  auto text = arguments.text("CUE", cues_of(snapshot), false);
  if (!text) return Arm{};
  plan::CueName name{std::move(*text)};
  if (snapshot.plan->running_order.find(name) == nullptr)
    arguments.refuse("CUE", in_quotes(name.text), cues_of(snapshot));
  return Arm{std::move(name)};
}

Command disarm(Arguments&, const rack::Snapshot&) { return Disarm{}; }
Command abort(Arguments&, const rack::Snapshot&) { return Abort{}; }
Command lock(Arguments&, const rack::Snapshot&) { return SetLock{true}; }
Command unlock(Arguments&, const rack::Snapshot&) { return SetLock{false}; }

// As running orders have them.
Command say(Arguments& arguments, const rack::Snapshot&) {
  const auto allowed =
      "text of 1 to " + std::to_string(longest_text) + " printable ASCII characters";
  auto text = arguments.text("TEXT", allowed, true);
  if (!text) return Say{};
  const auto printable = [](char c) { return c >= ' ' && c <= '~'; };
  if (text->empty() || text->size() > longest_text || !std::ranges::all_of(*text, printable))
    arguments.refuse("TEXT", in_quotes(*text), allowed);
  return Say{std::move(*text)};
}

std::optional<std::uint16_t> port_in(Arguments& arguments) {
  const auto port = arguments.integer("PORT", 1, 65'535);
  return port ? std::optional{static_cast<std::uint16_t>(*port)} : std::nullopt;
}

Command subscribe(Arguments& arguments, const rack::Snapshot&) {
  return Subscribe{port_in(arguments)};
}
Command unsubscribe(Arguments& arguments, const rack::Snapshot&) {
  return Unsubscribe{port_in(arguments)};
}
Command status(Arguments&, const rack::Snapshot&) { return AskStatus{}; }
Command ping(Arguments&, const rack::Snapshot&) { return Ping{}; }

struct Address {
  std::string_view name;
  Command (*read)(Arguments&, const rack::Snapshot&);
};

constexpr std::array<Address, 13> addresses{{
    {"preview", preview},
    {"go", go},
    {"next", next},
    {"arm", arm},
    {"disarm", disarm},
    {"abort", abort},
    {"lock", lock},
    {"unlock", unlock},
    {"message", say},
    {"subscribe", subscribe},
    {"unsubscribe", unsubscribe},
    {"status", status},
    {"ping", ping},
}};

const Address* find(std::string_view address) {
  if (!address.starts_with(root)) return nullptr;
  const auto* const found =
      std::ranges::find(addresses, address.substr(root.size()), &Address::name);
  return found == addresses.end() ? nullptr : found;
}

std::string unknown(std::string_view address) {
  std::string sentence = "There is no address " + in_quotes(address) + "; allowed: ";
  for (const auto& known : addresses)
    sentence +=
        (&known == addresses.data() ? "" : ", ") + std::string{root} + std::string{known.name};
  return sentence + '.';
}

}  // namespace

Result<Command, std::string> command_of(const Message& message, const rack::Snapshot& snapshot) {
  const auto* const address = find(message.address);
  if (address == nullptr) return Failure{unknown(message.address)};
  Arguments arguments{message};
  Result<Command, std::string> command{address->read(arguments, snapshot)};
  if (auto wrong = arguments.finish(); !wrong.empty()) command = Failure{std::move(wrong)};
  return command;
}

std::string_view name_in(std::string_view address) {
  const auto* const found = find(address);
  return found == nullptr ? std::string_view{} : found->name;
}

}  // namespace catwalk::control
