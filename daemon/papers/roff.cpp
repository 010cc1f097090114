// SPDX-License-Identifier: Apache-2.0
#include "daemon/papers/roff.hpp"

namespace catwalk::papers {
namespace {

// An argument of a macro.
std::string macro_argument(std::string_view text) {
  std::string result = "\"";
  for (const char c : escaped(text)) result += c == '"' ? "\\(dq" : std::string{c};
  return result + '"';
}

}  // namespace

std::string escaped(std::string_view text) {
  std::string result;
  for (const char c : text) {
    if (c == '\\')
      result += "\\e";
    else if (c == '-')
      result += "\\-";
    else if (c == '\'')
      result += "\\(aq";
    else if (c == '^')
      result += "\\(ha";
    else if (c == '~')
      result += "\\(ti";
    else if (c == '`')
      result += "\\(ga";
    else
      result += c;
  }
  // A point begins a macro only where a line begins.
  return result.starts_with('.') ? "\\&" + result : result;
}

Page::Page(std::string_view name, int section, std::string_view version, std::string_view date,
           std::string_view what) {
  line(".\\\" Written by catwalk-papers out of the programs' own tables: do not change it here.");
  line(".TH " + macro_argument(name) + ' ' + std::to_string(section) + ' ' + macro_argument(date) +
       ' ' + macro_argument("Catwalk " + std::string{version}) + ' ' + macro_argument("Catwalk"));
  line(".SH NAME");
  line(escaped(name) + " \\- " + escaped(what));
}

Page& Page::line(std::string_view text) {
  roff_.append(text).append("\n");
  return *this;
}

Page& Page::section(std::string_view title) { return line(".SH " + macro_argument(title)); }
Page& Page::part(std::string_view title) { return line(".SS " + macro_argument(title)); }

Page& Page::text(std::string_view text) {
  while (!text.empty()) {
    const auto end = std::min(text.find('\n'), text.size());
    if (end > 0) line(".PP").line(escaped(text.substr(0, end)));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return *this;
}

Page& Page::typed(std::string_view text) {
  return line(".PP").line("\\fB" + escaped(text) + "\\fR");
}

Page& Page::as_it_is(std::string_view lines) {
  line(".PP").line(".nf").line(".RS 2");
  while (!lines.empty()) {
    const auto end = std::min(lines.find('\n'), lines.size());
    line(escaped(lines.substr(0, end)));
    lines.remove_prefix(std::min(end + 1, lines.size()));
  }
  return line(".RE").line(".fi");
}

Page& Page::told(std::string_view term, std::string_view value, std::string_view text) {
  line(".TP");
  line("\\fB" + escaped(term) + "\\fR" + (value.empty() ? "" : " \\fI" + escaped(value) + "\\fR"));
  return line(text.empty() ? "\\&" : escaped(text));
}

}  // namespace catwalk::papers
