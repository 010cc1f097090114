// SPDX-License-Identifier: Apache-2.0
#pragma once
// The words of an enumeration, told once and used in both directions. They stand beside it, in its
// namespace, in the order of its values, which count from 0:
//
//   enum class Severity { note, caution, refuse };
//   constexpr auto words_of(Severity) {
//     using enum Severity;
//     return WordTable<Severity, 3>{{{"note", note}, {"caution", caution}, {"refuse", refuse}}};
//   }
//   using catwalk::name_of;
//
// A value without a word, or one out of order, does not compile.

#include <array>
#include <cstddef>
#include <optional>
#include <string_view>
#include <utility>

namespace catwalk {

template <class E, std::size_t N>
using WordTable = std::array<std::pair<std::string_view, E>, N>;

template <class E>
concept HasWords = requires(E value) {
  words_of(value);
};

namespace words_detail {

// Compilers write an enumerator by its name, and a number that is none as "(Severity)3".
template <auto value>
consteval bool is_enumerator() {
  std::string_view text = __PRETTY_FUNCTION__;
  text.remove_prefix(text.find("value = ") + std::string_view{"value = "}.size());
  return text.front() != '(';
}

template <HasWords E>
consteval bool is_whole() {
  const auto words = words_of(E{});
  for (std::size_t place = 0; place < words.size(); ++place)
    if (words[place].second != static_cast<E>(place)) return false;
  return !is_enumerator<static_cast<E>(words.size())>();
}

template <HasWords E>
inline constexpr auto table = words_of(E{});

}  // namespace words_detail

// "?" for a number that is no value of it.
template <HasWords E>
constexpr std::string_view name_of(E value) {
  static_assert(words_detail::is_whole<E>());
  const auto place = static_cast<std::size_t>(value);
  return place < words_detail::table<E>.size() ? words_detail::table<E>[place].first : "?";
}

// Nothing: it is none of its words.
template <HasWords E>
constexpr std::optional<E> named(std::string_view word) {
  for (const auto& [text, value] : words_detail::table<E>)
    if (text == word) return value;
  return std::nullopt;
}

}  // namespace catwalk
