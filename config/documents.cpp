// SPDX-License-Identifier: Apache-2.0
#include "config/documents.hpp"

#include <algorithm>

namespace catwalk::config {

std::optional<SourceFile> Documents::read(const std::filesystem::path& path,
                                          const Cursor& reference) {
  std::variant<SourceFile, Unreadable> read = source_(path);
  if (SourceFile* file = std::get_if<SourceFile>(&read)) return std::move(*file);
  const std::string message = "cannot be read as " + readable(path.string(), 200) + ": " +
                              std::get<Unreadable>(read).reason;
  if (reference.present()) {
    reference.report(message, "a file that can be read");
  } else {
    add(problems_, {.file = path.string(),
                    .line = 0,
                    .pointer = {},
                    .value = {},
                    .message = "cannot be read: " + std::get<Unreadable>(read).reason,
                    .allowed = "a file that can be read"});
  }
  return std::nullopt;
}

Cursor Documents::open(const std::filesystem::path& path, const Cursor& reference) {
  const std::optional<SourceFile> file = read(path, reference);
  if (!file) return {};
  Document& document = documents_.emplace_back(Document{path.string(), {}});
  std::optional<Value> root = parse(file->text, document.file, problems_);
  if (!root) return {};
  document.root = std::move(*root);
  return {document.root, document.file, problems_};
}

std::size_t Documents::order_of(const std::string& file) const {
  const auto found = std::ranges::find(documents_, file, &Document::file);
  return static_cast<std::size_t>(found - documents_.begin());
}

}  // namespace catwalk::config
