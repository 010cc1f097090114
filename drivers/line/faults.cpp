// SPDX-License-Identifier: Apache-2.0
#include "drivers/line/faults.hpp"

#include <algorithm>
#include <tuple>

namespace catwalk::drivers {

void FaultyWire::send(protocol::Bytes bytes, Time now, std::chrono::microseconds on_wire,
                      std::uint64_t tag) {
  // All dice are thrown for every frame, so that one rate does not shift the luck of another.
  const bool lost = dice_.chance(rates_.loss);
  const bool twice = dice_.chance(rates_.duplicate);
  const bool bad = dice_.chance(rates_.corrupt);
  if (lost) return;
  if (twice) post(bytes, now, on_wire, tag);
  post(bad ? corrupted(std::move(bytes)) : std::move(bytes), now, on_wire, tag);
}

void FaultyWire::post(protocol::Bytes bytes, Time now, std::chrono::microseconds on_wire,
                      std::uint64_t tag) {
  const auto spread = std::max(rates_.delay_max - rates_.delay_min, std::chrono::microseconds{0});
  const std::chrono::microseconds extra{
      static_cast<std::int64_t>(dice_.unit() * static_cast<double>(spread.count()))};
  Time at = now + on_wire + rates_.delay_min + extra;
  if (!rates_.reorder) {
    at = std::max(at, last_);
    last_ = at;
  }
  under_way_.push_back({at, number_++, {std::move(bytes), tag}});
}

protocol::Bytes FaultyWire::corrupted(protocol::Bytes bytes) {
  if (bytes.empty()) return bytes;
  const auto at = static_cast<std::size_t>(dice_.below(bytes.size()));
  const auto place = bytes.begin() + static_cast<std::ptrdiff_t>(at);
  switch (dice_.below(3)) {
    case 0:
      *place = static_cast<std::uint8_t>(*place ^ (1U << dice_.below(8)));
      break;
    case 1:
      bytes.erase(place);
      break;
    default:
      bytes.insert(place, static_cast<std::uint8_t>(dice_.below(256)));
      break;
  }
  return bytes;
}

std::vector<FaultyWire::Parcel> FaultyWire::arrived(Time now) {
  const auto due = std::partition(under_way_.begin(), under_way_.end(),
                                  [&](const UnderWay& parcel) { return parcel.at > now; });
  std::sort(due, under_way_.end(), [](const UnderWay& a, const UnderWay& b) {
    return std::tie(a.at, a.number) < std::tie(b.at, b.number);
  });
  std::vector<Parcel> out;
  for (auto it = due; it != under_way_.end(); ++it) out.push_back(std::move(it->parcel));
  under_way_.erase(due, under_way_.end());
  return out;
}

std::optional<FaultyWire::Time> FaultyWire::next_arrival() const {
  const auto first =
      std::min_element(under_way_.begin(), under_way_.end(),
                       [](const UnderWay& a, const UnderWay& b) { return a.at < b.at; });
  if (first == under_way_.end()) return std::nullopt;
  return first->at;
}

}  // namespace catwalk::drivers
