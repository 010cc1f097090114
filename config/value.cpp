// SPDX-License-Identifier: Apache-2.0
#include "config/value.hpp"

#include <algorithm>
#include <cstdint>
#include <iterator>
#include <nlohmann/json.hpp>
#include <unordered_set>

#include "config/pointer.hpp"

namespace catwalk::config {
namespace {

// The line of the character that was read last. A line end belongs to the line it ends, so a number
// is still on its own line although the parser had to read past it.
class LineCounter {
 public:
  void read(char c) {
    if (ended_) ++line_;
    ended_ = c == '\n';
  }
  std::size_t line() const { return line_; }

 private:
  std::size_t line_ = 1;
  bool ended_ = false;
};

// Hands the text to the parser and counts lines as it goes. Copies share the counter.
class CountingIterator {
 public:
  using iterator_category = std::input_iterator_tag;
  using value_type = char;
  using difference_type = std::ptrdiff_t;
  using pointer = const char*;
  using reference = const char&;

  CountingIterator(const char* at, LineCounter* counter) : at_{at}, counter_{counter} {}
  reference operator*() const { return *at_; }
  CountingIterator& operator++() {
    counter_->read(*at_);
    ++at_;
    return *this;
  }
  CountingIterator operator++(int) {
    CountingIterator before = *this;
    ++*this;
    return before;
  }
  friend bool operator==(const CountingIterator& a, const CountingIterator& b) {
    return a.at_ == b.at_;
  }

 private:
  const char* at_;
  LineCounter* counter_;
};

// "…parse error at line 3, column 5: syntax error while parsing value - unexpected '}'; …"
// becomes "unexpected '}'; …".
std::string plain_reason(std::string_view what) {
  if (const auto at = what.find(" - "); at != std::string_view::npos) {
    what.remove_prefix(at + 3);
  } else if (const auto end = what.find("] "); end != std::string_view::npos) {
    what.remove_prefix(end + 2);
  }
  // Of a long token, a comment for instance, nobody needs the text again.
  constexpr std::size_t longest_token = 40;
  if (const auto token = what.find("; last read: "); token != std::string_view::npos)
    if (what.size() - token > longest_token) what = what.substr(0, token);
  return readable(what, 200);
}

// Builds the tree from the parser's events.
class TreeBuilder {
 public:
  TreeBuilder(const LineCounter& counter, const std::string& file, Problems& problems)
      : counter_{counter}, file_{file}, problems_{problems} {}

  bool null() { return add(made(Value::Kind::null)); }
  bool boolean(bool truth) {
    Value value = made(Value::Kind::boolean);
    value.truth = truth;
    return add(std::move(value));
  }
  bool number_integer(std::int64_t number) { return add_number(std::to_string(number)); }
  bool number_unsigned(std::uint64_t number) { return add_number(std::to_string(number)); }
  bool number_float(double, const std::string& digits) { return add_number(digits); }
  bool string(std::string& text) {
    Value value = made(Value::Kind::text);
    value.text = std::move(text);
    return add(std::move(value));
  }
  bool binary(nlohmann::json::binary_t&) { return false; }  // JSON text has none

  bool start_object(std::size_t) { return open(Value::Kind::object); }
  bool key(std::string& name) {
    Scope& scope = open_.back();
    if (!scope.keys.insert(name).second)
      report(pointer_here() + "/" + escaped(name), in_quotes(name), "stands here twice",
             "each member once");
    scope.key = std::move(name);
    scope.key_line = counter_.line();
    return true;
  }
  bool end_object() { return close(); }
  bool start_array(std::size_t) { return open(Value::Kind::array); }
  bool end_array() { return close(); }

  bool parse_error(std::size_t, const std::string&, const nlohmann::json::exception& error) {
    report("", "", "this is not JSON: " + plain_reason(error.what()), "");
    return false;
  }

  Value take() && { return std::move(root_); }

 private:
  struct Scope {
    Value* value;
    std::unordered_set<std::string> keys;
    std::string key;
    std::size_t key_line = 0;
  };

  Value made(Value::Kind kind) const {
    Value value;
    value.kind = kind;
    value.line = counter_.line();
    return value;
  }

  bool add_number(std::string digits) {
    Value value = made(Value::Kind::number);
    value.text = std::move(digits);
    return add(std::move(value));
  }

  bool add(Value value) { return place(std::move(value)) != nullptr; }

  // Where the value now lives; null if the file is too large. A parent's list does not grow while a
  // child of it is open, so the address holds until the child is closed.
  Value* place(Value value) {
    if (++count_ > most_values) {
      report("", "", "the file has more than " + std::to_string(most_values) + " values", "");
      return nullptr;
    }
    if (open_.empty()) {
      root_ = std::move(value);
      return &root_;
    }
    Scope& scope = open_.back();
    if (scope.value->kind == Value::Kind::array) {
      scope.value->items.push_back(std::move(value));
      return &scope.value->items.back();
    }
    scope.value->members.push_back({std::move(scope.key), scope.key_line, std::move(value)});
    return &scope.value->members.back().value;
  }

  bool open(Value::Kind kind) {
    if (open_.size() == deepest_nesting) {
      report(pointer_here(), "", "arrays and objects are nested too deeply",
             "at most " + std::to_string(deepest_nesting) + " within each other");
      return false;
    }
    Value* placed = place(made(kind));
    if (placed == nullptr) return false;
    open_.push_back({.value = placed, .keys = {}, .key = {}});
    return true;
  }

  bool close() {
    open_.pop_back();
    return true;
  }

  // Of the innermost array or object that is open.
  std::string pointer_here() const {
    std::string pointer;
    for (std::size_t i = 0; i + 1 < open_.size(); ++i) {
      const Value& value = *open_[i].value;
      pointer += value.kind == Value::Kind::array ? "/" + std::to_string(value.items.size() - 1)
                                                  : "/" + escaped(value.members.back().key);
    }
    return pointer;
  }

  void report(std::string pointer, std::string value, std::string message, std::string allowed) {
    config::add(problems_, {.file = file_,
                            .line = counter_.line(),
                            .pointer = std::move(pointer),
                            .value = std::move(value),
                            .message = std::move(message),
                            .allowed = std::move(allowed)});
  }

  const LineCounter& counter_;
  const std::string& file_;
  Problems& problems_;
  Value root_;
  std::vector<Scope> open_;
  std::size_t count_ = 0;
};

}  // namespace

const Member* Value::find(std::string_view key) const {
  const auto found = std::ranges::find(members, key, &Member::key);
  return found == members.end() ? nullptr : &*found;
}

std::optional<Value> parse(std::string_view text, const std::string& file, Problems& problems) {
  if (text.size() > largest_file) {
    add(problems, {.file = file,
                   .line = 0,
                   .pointer = {},
                   .value = {},
                   .message = "the file has " + std::to_string(text.size()) + " bytes",
                   .allowed = "at most " + std::to_string(largest_file)});
    return std::nullopt;
  }
  LineCounter counter;
  TreeBuilder builder{counter, file, problems};
  const CountingIterator first{text.data(), &counter};
  const CountingIterator last{text.data() + text.size(), &counter};
  // The parser takes a NUL for the end, and would leave what follows unread.
  if (const auto nul = text.find('\0'); nul != std::string_view::npos) {
    const auto lines = std::ranges::count(text.substr(0, nul), '\n');
    add(problems, {.file = file,
                   .line = static_cast<std::size_t>(lines) + 1,
                   .pointer = {},
                   .value = {},
                   .message = "this is not JSON: there is a NUL in it",
                   .allowed = "text"});
    return std::nullopt;
  }
  const bool whole =
      nlohmann::json::sax_parse(first, last, &builder, nlohmann::json::input_format_t::json,
                                /*strict=*/true, /*ignore_comments=*/true);
  if (!whole) return std::nullopt;
  return std::move(builder).take();
}

std::string shown(const Value& value) {
  switch (value.kind) {
    case Value::Kind::null:
      return "null";
    case Value::Kind::boolean:
      return value.truth ? "true" : "false";
    case Value::Kind::number:
      return value.text.size() <= 80 ? value.text : value.text.substr(0, 80) + "…";
    case Value::Kind::text:
      return in_quotes(value.text);
    case Value::Kind::array:
      return "[…]";
    case Value::Kind::object:
      return "{…}";
  }
  return "?";
}

}  // namespace catwalk::config
