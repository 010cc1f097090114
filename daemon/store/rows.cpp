// SPDX-License-Identifier: Apache-2.0
#include "daemon/store/rows.hpp"

#include <limits>

#include "daemon/base/hex.hpp"
#include "daemon/base/text.hpp"
#include "daemon/rack/values/wire.hpp"
#include "protocol/matrix_codec.hpp"
#include "protocol/values.hpp"

namespace catwalk::store {
namespace {

constexpr std::int64_t last_moment = 253'402'300'799'999'999;  // 9999-12-31T23:59:59.999999Z
constexpr std::size_t longest_quoted = 80;

}  // namespace

std::int64_t micros(rack::TimePoint at) { return at.time_since_epoch().count(); }
rack::TimePoint time_of(std::int64_t at) { return rack::TimePoint{std::chrono::microseconds{at}}; }
bool is_lawful_time(std::int64_t micros) { return micros >= 0 && micros <= last_moment; }

void Row::refuse(int column, const std::string& allowed) const {
  throw SqliteError{"in table " + std::string{table_} + ", " + row_->name(column) + " is \"" +
                        with_escapes(row_->text(column).substr(0, longest_quoted)) +
                        "\"; allowed is " + allowed,
                    SQLITE_MISMATCH};
}

std::int64_t Row::integer(int column, std::int64_t least, std::int64_t most) const {
  // The type first: SQLite does not know it any more once it has converted the value.
  const bool is_integer = row_->is_integer(column);
  const auto value = row_->integer(column);
  if (!is_integer || value < least || value > most)
    refuse(column, "a whole number from " + std::to_string(least) + " to " + std::to_string(most));
  return value;
}

std::uint64_t Row::number(int column) const {
  return static_cast<std::uint64_t>(integer(column, 0, highest_number));
}

bool Row::flag(int column) const { return integer(column, 0, 1) != 0; }

std::string Row::text(int column, std::size_t longest) const {
  const bool is_text = row_->is_text(column);
  auto text = row_->text(column);
  if (!is_text || text.size() > longest)
    refuse(column, "text of at most " + std::to_string(longest) + " bytes");
  return text;
}

std::string Row::hash(int column) const {
  auto hash = text(column);
  return is_hex(hash, digits_of_hash) ? hash : std::string{};
}

rack::TimePoint Row::time(int column) const { return time_of(integer(column, 0, last_moment)); }

plan::NodeSettings Row::settings(int column) const {
  plan::Settings settings;
  plan::for_each_setting([&](auto field) { read(column++, field.of(settings)); });
  const auto digits = text(column, 2 * protocol::largest_matrix_settings);
  if (digits.empty()) return settings;
  // No bytes are no settings either.
  const auto bytes = from_hex(digits).value_or(std::vector<std::uint8_t>{});
  const auto matrix = protocol::decode_matrix_settings(bytes, protocol::Labels::any);
  if (!matrix) refuse(column, "nothing, or the settings of a matrix in hexadecimal digits");
  return rack::from_wire(matrix.value());
}

void Row::read(int column, rf::Gain& gain) const {
  using Wire = std::numeric_limits<std::int16_t>;
  gain =
      rf::Gain::centidecibels(static_cast<std::int32_t>(integer(column, Wire::min(), Wire::max())));
}
void Row::read(int column, std::uint8_t& filter) const {
  filter = static_cast<std::uint8_t>(integer(column, 0, std::numeric_limits<std::uint8_t>::max()));
}
void Row::read(int column, rf::Frequency& centre) const {
  centre = rf::Frequency::hertz(integer(column, 0, std::numeric_limits<std::uint32_t>::max()));
}
void Row::read(int column, bool& power) const { power = flag(column); }
// No longer than it was: what a hand or a bit has spoilt may be wanted, but not believed.
void Row::read(int column, std::string& label) const {
  label = made_plain(text(column, protocol::longest_label), "?");
}

}  // namespace catwalk::store
