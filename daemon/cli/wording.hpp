// SPDX-License-Identifier: Apache-2.0
#pragma once
// Values of the API's documents in words, the same everywhere, and as the daemon's sentences have
// them.

#include <nlohmann/json.hpp>
#include <string>

#include "daemon/base/setting.hpp"

namespace catwalk::cli {

using Json = nlohmann::ordered_json;

// A member that is text; `otherwise` if there is none.
std::string text_of(const Json& object, const char* name, const std::string& otherwise = {});
std::string fixed(double value, int decimals);
// "+9 dB", "-1.5 dB": no more decimals than it needs, at most two.
std::string gain_words(double decibels);
// "518.125 MHz": at least three decimals.
std::string megahertz_words(double megahertz);
// "+3 dB", "slide-40", "518.000 MHz" or "none", "on", "\"SL\"": one of `settings`.
std::string setting_words(const Json& settings, Setting setting);
// "gain +3 dB, slide-40 at 518.000 MHz, power on, label \"SL\""
std::string settings_words(const Json& settings);
// "28 s", "5 min", "3 h"
std::string age_words(double milliseconds);
// "line-down" → "line down": names are data, people read words.
std::string spaced(std::string name);
// "2026-11-25T19:30:00.250000Z" → "2026-11-25 19:30:00Z"
std::string to_the_second(const std::string& time);
// From here on times are told as clocks in this zone show them, in to_the_second() and
// time_of_day(). One that this machine does not know leaves them in UTC.
void tell_times_in(const std::string& zone);
// Now, on the clock of this place: "19:30:00".
std::string time_of_day();
// "would be accepted", "would need a waiver"
std::string verdict_words(const std::string& would_be);

}  // namespace catwalk::cli
