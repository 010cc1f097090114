// SPDX-License-Identifier: Apache-2.0
#pragma once
// The shared key of a UDP line: a file of its own, so that a rack file can be shown to anybody.

#include <cstdint>
#include <filesystem>
#include <vector>

#include "config/documents.hpp"
#include "config/reader.hpp"

namespace catwalk::config {

// RFC 2104, section 3: keys shorter than the hash's output (32 bytes for SHA-256) weaken it, keys
// longer than its block (64 bytes) gain nothing.
constexpr std::size_t shortest_key = 32;
constexpr std::size_t longest_key = 64;

// True, or reported: the file may be readable by its group, as service managers hand it over, but
// neither readable nor writable beyond that.
bool check_secret(const SourceFile& file, const Cursor& reference);

// The key, written in hexadecimal. Empty if there is none: reported at the reference, and without
// quoting any of the key. Its file is a secret, as above.
std::vector<std::uint8_t> read_key(const std::filesystem::path& path, const Cursor& reference,
                                   Documents& documents);

}  // namespace catwalk::config
