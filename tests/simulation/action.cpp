// SPDX-License-Identifier: Apache-2.0
#include "tests/simulation/action.hpp"

#include <charconv>
#include <cmath>
#include <map>
#include <utility>
#include <vector>

#include "tests/simulation/words.hpp"

namespace catwalk::simulation {
namespace {

// ---- one value and its words -------------------------------------------------------------------

template <class Number>
std::optional<Number> number_in(std::string_view text) {
  Number value{};
  const auto [end, bad] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (bad != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

std::string said(bool value) { return value ? "on" : "off"; }
std::string said(int value) { return std::to_string(value); }
std::string said(double value) { return number(value); }
std::string said(const std::string& value) { return value; }
std::string said(rf::Gain value) { return number(value.decibels()); }
std::string said(rf::Frequency value) { return number(value.megahertz()); }
std::string said(Micros value) { return words(value); }
template <class Tag>
std::string said(const plan::Name<Tag>& value) {
  return value.text;
}

// Each sets the value and returns true, or says what is allowed.
constexpr std::string_view allowed(const bool&) { return "on or off"; }
constexpr std::string_view allowed(const int&) { return "a whole number"; }
constexpr std::string_view allowed(const double&) { return "a number"; }
constexpr std::string_view allowed(const std::string&) { return "a word"; }
constexpr std::string_view allowed(const rf::Gain&) { return "a gain in dB"; }
constexpr std::string_view allowed(const rf::Frequency&) { return "a frequency in MHz"; }
constexpr std::string_view allowed(const Micros&) { return "a duration like 1.5s, 20ms or 5us"; }
template <class Tag>
constexpr std::string_view allowed(const plan::Name<Tag>&) {
  return "a name";
}

bool take(std::string_view text, bool& value) {
  value = text == "on";
  return text == "on" || text == "off";
}
template <class Number>
bool take_number(std::string_view text, Number& value) {
  const auto read = number_in<Number>(text);
  if (read) value = *read;
  return read.has_value();
}
bool take(std::string_view text, int& value) { return take_number(text, value); }
bool take(std::string_view text, double& value) {
  return take_number(text, value) && std::isfinite(value);
}
bool take(std::string_view text, std::string& value) {
  value = text;
  return !text.empty();
}
bool take(std::string_view text, rf::Gain& value) {
  double decibels = 0;
  if (!take(text, decibels) || std::abs(decibels) > 300) return false;
  value = rf::Gain::decibels(decibels);
  return true;
}
bool take(std::string_view text, rf::Frequency& value) {
  double megahertz = 0;
  if (!take(text, megahertz) || std::abs(megahertz) > 4'000) return false;
  value = rf::Frequency::megahertz(megahertz);
  return true;
}
// Digits before and after the point, counted exactly.
bool take(std::string_view text, Micros& value) {
  const bool negative = text.starts_with('-');
  if (negative) text.remove_prefix(1);
  const auto digits_end = text.find_first_not_of("0123456789.");
  if (digits_end == std::string_view::npos) return false;
  const auto unit = text.substr(digits_end);
  const int places = unit == "s" ? 6 : unit == "ms" ? 3 : unit == "us" ? 0 : -1;
  if (places < 0) return false;
  auto whole = text.substr(0, digits_end);
  std::string fraction;
  if (const auto point = whole.find('.'); point != std::string_view::npos) {
    fraction = whole.substr(point + 1);
    whole = whole.substr(0, point);
  }
  if (fraction.size() > static_cast<std::size_t>(places)) return false;
  fraction.resize(static_cast<std::size_t>(places), '0');
  const auto count = number_in<std::int64_t>(std::string{whole} + fraction);
  if (count) value = Micros{negative ? -*count : *count};
  return count.has_value();
}
template <class Tag>
bool take(std::string_view text, plan::Name<Tag>& value) {
  return take(text, value.text);
}

// ---- all fields of an action -------------------------------------------------------------------

class Writer {
 public:
  template <class T>
  void operator()(std::string_view name, const T& value) {
    fields_.emplace_back(name, said(value));
  }
  template <class T>
  void operator()(std::string_view name, const std::optional<T>& value) {
    fields_.emplace_back(name, value ? said(*value) : std::string{});
  }
  const std::vector<std::pair<std::string_view, std::string>>& fields() const { return fields_; }

 private:
  std::vector<std::pair<std::string_view, std::string>> fields_;
};

class Reader {
 public:
  explicit Reader(std::map<std::string, std::string, std::less<>> words)
      : words_{std::move(words)} {}

  template <class T>
  void operator()(std::string_view name, T& value) {
    const auto found = words_.find(name);
    if (found == words_.end()) return;
    read(name, found->second, value);
    words_.erase(found);
  }
  template <class T>
  void operator()(std::string_view name, std::optional<T>& value) {
    const auto found = words_.find(name);
    if (found == words_.end()) return;
    read(name, found->second, value.emplace());
    words_.erase(found);
  }
  // What is wrong; empty: nothing.
  std::string trouble() const {
    if (!trouble_.empty() || words_.empty()) return trouble_;
    return "there is no field \"" + words_.begin()->first + "\" here";
  }

 private:
  template <class T>
  void read(std::string_view name, const std::string& text, T& value) {
    if (!take(text, value) && trouble_.empty())
      trouble_ =
          std::string{name} + " is \"" + text + "\", allowed is " + std::string{allowed(value)};
  }
  std::map<std::string, std::string, std::less<>> words_;
  std::string trouble_;
};

template <class T>
std::string words_of(T action) {
  Writer own;
  Writer usual;
  action.fields(own);
  T{}.fields(usual);
  std::string text{T::verb};
  for (std::size_t i = 0; i < own.fields().size(); ++i)
    if (own.fields()[i] != usual.fields()[i])
      text += ' ' + std::string{own.fields()[i].first} + '=' + own.fields()[i].second;
  return text;
}

template <std::size_t I = 0>
Result<Action, std::string> read_as(std::string_view verb, Reader reader) {
  if constexpr (I == std::variant_size_v<Action>) {
    return Failure{"there is no action \"" + std::string{verb} + '"'};
  } else {
    using T = std::variant_alternative_t<I, Action>;
    if (verb != T::verb) return read_as<I + 1>(verb, std::move(reader));
    T action{};
    action.fields(reader);
    if (const auto trouble = reader.trouble(); !trouble.empty())
      return Failure{std::string{verb} + ": " + trouble};
    return Action{std::move(action)};
  }
}

}  // namespace

std::string words(const Action& action) {
  return std::visit([](const auto& one) { return words_of(one); }, action);
}

Result<Action, std::string> action_from(std::string_view text) {
  std::vector<std::string> parts;
  while (!text.empty()) {
    const auto begin = text.find_first_not_of(' ');
    if (begin == std::string_view::npos) break;
    const auto end = std::min(text.find(' ', begin), text.size());
    parts.emplace_back(text.substr(begin, end - begin));
    text.remove_prefix(end);
  }
  if (parts.empty()) return Failure{std::string{"there is no action in an empty line"}};
  std::map<std::string, std::string, std::less<>> fields;
  for (std::size_t i = 1; i < parts.size(); ++i) {
    const auto equals = parts[i].find('=');
    if (equals == std::string::npos)
      return Failure{parts[0] + ": \"" + parts[i] + "\" is no field=value"};
    if (!fields.emplace(parts[i].substr(0, equals), parts[i].substr(equals + 1)).second)
      return Failure{parts[0] + ": " + parts[i].substr(0, equals) + " is given twice"};
  }
  return read_as(parts[0], Reader{std::move(fields)});
}

std::optional<plan::Inputs> inputs_in(std::string_view text) {
  plan::Inputs inputs;
  if (text == "none") return inputs;
  for (;;) {
    const auto end = std::min(text.find('+'), text.size());
    const auto input = number_in<std::size_t>(text.substr(0, end));
    if (!input || (!inputs.empty() && *input <= inputs.back())) return std::nullopt;
    inputs.push_back(*input);
    if (end == text.size()) return inputs;
    text.remove_prefix(end + 1);
  }
}

std::string words(const plan::Inputs& inputs) {
  std::string text;
  for (const auto input : inputs) text += (text.empty() ? "" : "+") + std::to_string(input);
  return text.empty() ? "none" : text;
}

std::string words(Micros duration) {
  const auto count = std::abs(duration.count());
  std::string text = duration.count() < 0 ? "-" : "";
  text += std::to_string(count / 1'000'000);
  if (const auto rest = count % 1'000'000; rest != 0) {
    auto digits = std::to_string(rest);
    digits.insert(0, 6 - digits.size(), '0');
    while (digits.back() == '0') digits.pop_back();
    text += '.' + digits;
  }
  return text + 's';
}

}  // namespace catwalk::simulation
