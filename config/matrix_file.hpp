// SPDX-License-Identifier: Apache-2.0
#pragma once
// The datasheet of a matrix: a datasheet file whose "kind" is "matrix". Its schema is
// schemas/matrix.schema.json.

#include <cstddef>
#include <optional>
#include <string>

#include "config/reader.hpp"
#include "daemon/plan/matrix.hpp"

namespace catwalk::config {

// Of a datasheet file, which is that of an amplifier if it does not say so. Nothing: its kind is
// none that there is, which is reported.
enum class SheetKind { amplifier, matrix };
std::optional<SheetKind> sheet_kind(const Cursor& root);

// "3" for a socket of so many; nothing: reported.
std::optional<std::size_t> number_of_socket(const std::string& key, const Cursor& at,
                                            const char* what, std::size_t most);

// Nothing if anything is wrong with it; what is wrong has been reported.
std::optional<plan::MatrixSheet> read_matrix_sheet(const Cursor& root);

}  // namespace catwalk::config
