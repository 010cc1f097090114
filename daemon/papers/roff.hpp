// SPDX-License-Identifier: Apache-2.0
#pragma once
// A manual page as man(7) has it: UTF-8, which man-db knows of.

#include <string>
#include <string_view>

#include "daemon/base/option_info.hpp"

namespace catwalk::papers {

// Text that means itself, wherever it stands in a line.
std::string escaped(std::string_view text);

class Page {
 public:
  // `date`: "2026-11-30". `what`: in a few words, after the dash of NAME.
  Page(std::string_view name, int section, std::string_view version, std::string_view date,
       std::string_view what);

  Page& section(std::string_view title);
  Page& part(std::string_view title);
  // Lines of the text begin paragraphs.
  Page& text(std::string_view text);
  // What somebody types: bold, by itself in a line.
  Page& typed(std::string_view text);
  // As it is, in columns.
  Page& as_it_is(std::string_view lines);
  // What is told of a term; `value` behind it as something to be replaced.
  Page& told(std::string_view term, std::string_view value, std::string_view text);
  Page& option(const OptionInfo& option) { return told(option.name, option.value, option.help); }

  const std::string& roff() const { return roff_; }

 private:
  Page& line(std::string_view text);
  std::string roff_;
};

}  // namespace catwalk::papers
