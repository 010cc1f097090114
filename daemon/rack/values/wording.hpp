// SPDX-License-Identifier: Apache-2.0
#pragma once
// Values as they stand in sentences.

#include <chrono>
#include <string>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/plan/settings.hpp"
#include "daemon/rf/decibel.hpp"
#include "daemon/rf/units.hpp"

namespace catwalk::rack {

// "518.125 MHz": at least three decimals, more only if the value needs them.
std::string in_words(rf::Frequency frequency);
// "470.000 to 510.000 MHz"
std::string in_words(const rf::Band& band);
// "200 kHz", "12.5 kHz": of bandwidths, and of what is so near
std::string in_kilohertz(rf::Frequency frequency);
// "+3 dB", "-1.5 dB"
std::string in_words(rf::Gain gain);
// "4.2 dB", "-31.5 dBm": one decimal; "no signal" for no power at all.
std::string in_words(rf::Decibel ratio);
std::string in_words(rf::PowerLevel level);
// "2 s", "0.25 s"
std::string in_words(std::chrono::milliseconds lasting);
// "gain +3 dB, slide-40 at 518.000 MHz, power on, label \"SL\""
std::string in_words(const plan::Settings& settings, const plan::Datasheet& datasheet);
// What is asked: "gain +3 dB, power on and label \"SL\""
std::string in_words(const plan::SettingsPatch& patch);
// What `now` has other than `wanted`: "gain +9 dB (wanted +6 dB), centre 518.000 MHz (wanted
// 520.000 MHz)". Precondition: they differ.
std::string differences(const plan::Settings& now, const plan::Settings& wanted,
                        const plan::Datasheet& datasheet);
// "a, b and c"
std::string listed(const std::vector<std::string>& names);

}  // namespace catwalk::rack
