// SPDX-License-Identifier: Apache-2.0
#pragma once
// The numbers of a finding, out of what they are of.

#include <string>
#include <utility>

#include "daemon/rack/values/verdict.hpp"
#include "daemon/rf/quantities.hpp"

namespace catwalk::rack {

inline Number megahertz(std::string name, rf::Frequency value) {
  return {std::move(name), value.megahertz(), "MHz"};
}
inline Number kilohertz(std::string name, rf::Frequency value) {
  return {std::move(name), static_cast<double>(value.hertz()) / 1e3, "kHz"};
}
inline Number decibels(std::string name, rf::Gain value) {
  return {std::move(name), value.decibels(), "dB"};
}
inline Number decibels(std::string name, rf::Decibel value) {
  return {std::move(name), value.value(), "dB"};
}
inline Number dbm(std::string name, rf::PowerLevel value) {
  return {std::move(name), value.dbm(), "dBm"};
}

}  // namespace catwalk::rack
