// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/interferers_in_words.hpp"

#include "daemon/cli/show.hpp"

namespace catwalk::cli {

// One decimal; a dash for what is not there.
std::string figure(const Json& object, const char* name) {
  const auto found = object.find(name);
  return found == object.end() ? "-" : fixed(found->get<double>(), 1);
}

std::string level(const Json& budget, const char* name) {
  return budget.contains(name) ? figure(budget, name) + " dBm" : "none";
}

namespace {

// What of a product that is wider than the channel, or stands beside it, counts there.
std::string in_channel(const Json& product) {
  const auto share = product.at("share").get<double>();
  if (share >= 0.995) return "";
  return share < 0.01 ? " (less than 1 % of it)" : " (" + fixed(100 * share, 0) + " % of it)";
}

std::string product_line(const Json& product) {
  const auto& names = product.at("carriers");
  const auto name = [&](std::size_t i) { return names.at(i).get<std::string>(); };
  auto made = names.size() == 3          ? name(0) + " + " + name(1) + " - " + name(2)
              : product.at("order") == 5 ? "3 × " + name(0) + " - 2 × " + name(1)
                                         : "2 × " + name(0) + " - " + name(1);
  if (product.contains("antenna")) made += ", made at " + text_of(product, "antenna") + ',';
  return "  " + made + " at " + megahertz_words(product.at("at_mhz")) + ", " +
         level(product, "level_dbm") + in_channel(product) + '\n';
}

// "2 × ear-1 - ear-2, made in ear-1, at 520.000 MHz, -98.0 dBm (75 % of it)"
std::string outside_line(const Json& product) {
  const auto own = text_of(product, "own");
  return "  2 × " + own + " - " + text_of(product, "other") + ", made in " + own + ", at " +
         megahertz_words(product.at("at_mhz")) + ", " + level(product, "level_dbm") +
         in_channel(product) + '\n';
}

// "guest-2 at image, -42.800 MHz from the channel: -105.2 dBm"
std::string stray_line(const Json& stray) {
  return "  " + text_of(stray, "carrier") + " at " + text_of(stray, "name", "a response") + ", " +
         megahertz_words(stray.at("offset_mhz")) +
         " from the channel: " + level(stray, "level_dbm") + '\n';
}

}  // namespace

std::string interferers_in_words(const Json& chain) {
  std::string lines;
  if (!chain.at("products").empty()) lines += "Strongest products on it, at the antenna:\n";
  for (const auto& product : chain.at("products")) lines += product_line(product);
  if (const auto& outside = chain.at("transmitter_products"); !outside.empty()) {
    lines += "Made in transmitters and radiated into it, at the antenna:\n";
    for (const auto& product : outside) lines += outside_line(product);
  }
  if (const auto& brought = chain.at("products_of_other_antennas"); !brought.empty()) {
    lines += "Made by amplifiers at other antennas, before the combiner, at this antenna:\n";
    for (const auto& product : brought) lines += product_line(product);
  }
  if (const auto& strays = chain.at("spurious_responses"); !strays.empty()) {
    lines += "Heard beside the channel, as in it, at the antenna:\n";
    for (const auto& stray : strays) lines += stray_line(stray);
  }
  return lines;
}

}  // namespace catwalk::cli
