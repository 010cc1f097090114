// SPDX-License-Identifier: Apache-2.0
#pragma once
// The little of HTML that a document needs. Whatever is not a tag of ours passes escaped().

#include <initializer_list>
#include <string>
#include <string_view>
#include <vector>

namespace catwalk::web {

// As text between tags: & < > " ' become references. What breaks the rule for text
// (protocol/text.hpp) becomes U+FFFD, but line breaks become <br>, and tabs spaces.
std::string escaped(std::string_view text);

// A table with a row of heads. Cells are text, and escaped here.
class HtmlTable {
 public:
  explicit HtmlTable(std::initializer_list<std::string_view> heads);
  void row(const std::vector<std::string>& cells);
  bool empty() const { return rows_.empty(); }
  // `otherwise` as a paragraph if there is no row.
  std::string text(std::string_view otherwise) const;

 private:
  std::string heads_;
  std::string rows_;
};

// 'sha256-…' of a style or a script, as a Content-Security-Policy names it: CSP Level 3, 2.3.1.
std::string csp_hash(std::string_view source);

}  // namespace catwalk::web
