// SPDX-License-Identifier: Apache-2.0
#include "config/key_file.hpp"

#include <array>
#include <string_view>

namespace catwalk::config {
namespace {

constexpr std::string_view key_rule = "64 to 128 hexadecimal digits on one line";
constexpr std::uint32_t too_open = 0027;  // written by the group, or anything by the others

std::optional<std::uint8_t> digit(char c) {
  if (c >= '0' && c <= '9') return static_cast<std::uint8_t>(c - '0');
  if (c >= 'a' && c <= 'f') return static_cast<std::uint8_t>(c - 'a' + 10);
  if (c >= 'A' && c <= 'F') return static_cast<std::uint8_t>(c - 'A' + 10);
  return std::nullopt;
}

std::optional<std::vector<std::uint8_t>> parse_hex(std::string_view text) {
  if (text.size() % 2 != 0) return std::nullopt;
  std::vector<std::uint8_t> bytes;
  for (std::size_t i = 0; i < text.size(); i += 2) {
    const auto high = digit(text[i]);
    const auto low = digit(text[i + 1]);
    if (!high || !low) return std::nullopt;
    bytes.push_back(static_cast<std::uint8_t>(*high << 4 | *low));
  }
  return bytes;
}

std::string octal(std::uint32_t mode) {
  const std::array<char, 4> digits{'0', static_cast<char>('0' + (mode >> 6 & 7)),
                                   static_cast<char>('0' + (mode >> 3 & 7)),
                                   static_cast<char>('0' + (mode & 7))};
  return {digits.begin(), digits.end()};
}

}  // namespace

bool check_secret(const SourceFile& file, const Cursor& reference) {
  if ((file.mode & too_open) == 0) return true;
  reference.report("is open to others, its mode is " + octal(file.mode), "mode 0600, 0400 or 0440");
  return false;
}

std::vector<std::uint8_t> read_key(const std::filesystem::path& path, const Cursor& reference,
                                   Documents& documents) {
  const std::optional<SourceFile> file = documents.read(path, reference);
  if (!file) return {};
  if (!check_secret(*file, reference)) return {};
  std::string_view text = file->text;
  while (!text.empty() && (text.back() == '\n' || text.back() == '\r' || text.back() == ' '))
    text.remove_suffix(1);
  if (text.size() < 2 * shortest_key || text.size() > 2 * longest_key) {
    reference.report("holds " + std::to_string(text.size()) + " characters", std::string{key_rule});
    return {};
  }
  const auto bytes = parse_hex(text);
  if (!bytes) {
    reference.report("holds something else than a key", std::string{key_rule});
    return {};
  }
  return *bytes;
}

}  // namespace catwalk::config
