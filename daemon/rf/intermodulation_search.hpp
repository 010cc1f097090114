// SPDX-License-Identifier: Apache-2.0
#pragma once
// How much intermodulation lands in each of many channels, found without trying every triple and
// without losing any product; kept up to date while carriers are added, moved and removed.
//
// How: on the common raster of the carriers, the histogram of the powers of all pairs is made once
// (n² steps). What lands on one frequency is then the sum over the carriers of one look each, and
// what lands in a channel the same, weighed with the share of a product there (emission.hpp), as
// far beside the channel as products reach. With channels in proportion to carriers the time grows
// as n². For a carrier that comes or goes, the histograms of sums and of differences give what it
// changes in a channel in a few looks. The rules
// are those of intermodulation.hpp, and so are the answers: to rounding while nothing changed, and
// within 1e-5 of the power (4e-5 dB) at the very worst after edits; all is computed anew after 200.
//
// Carriers on no common raster that spans them in at most 131 072 steps, for each pair of kinds of
// emissions, are searched in a sorted list instead: exact too, some times slower, and made anew on
// each edit.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "daemon/rf/intermodulation.hpp"
#include "daemon/rf/pair_tables.hpp"
#include "daemon/rf/sorted_pairs.hpp"

namespace catwalk::rf {

class IntermodulationSearch {
 public:
  // `tones` as they enter the stage; `channels`, 0 < low ≤ high, as wide as receivers listen: of a
  // product the part that lies in one counts there, of one without any width all of it, edges of
  // the channel included. `raster` > 0 is what carriers are moved on; theirs is found if it is
  // finer.
  IntermodulationSearch(std::vector<Tone> tones, std::vector<Band> channels,
                        Frequency raster = Frequency::kilohertz(25));

  const std::vector<Tone>& tones() const { return tones_; }
  const std::vector<Band>& channels() const { return channels_; }

  // All products in channel `i` together, referred to the input of a stage with this intercept;
  // no_power() if none falls there. The same search serves any intercept.
  PowerLevel level(std::size_t channel, PowerLevel input_ip3) const;
  // Which products they are.
  std::vector<Product> products(std::size_t channel, PowerLevel input_ip3) const;
  // The one of them that brings most, on a raster without listing the rest. Nothing: none does.
  std::optional<Product> strongest(std::size_t channel, PowerLevel input_ip3) const;

  // Of 3a−2b (fifth_order.hpp), worked out when first asked for; then, too, one thread at a time.
  PowerLevel fifth_order_level(std::size_t channel, PowerLevel input_ip5) const;

  // The same tones at other levels, in their order: as if made anew, without making its tables
  // anew, which may span much more than the carriers fill.
  void set_levels(std::span<const PowerLevel> levels);

  // Indices count tones() and channels(); removing moves the later ones down by one.
  // Fast while the tone is on the raster and between the lowest and the highest frequency of the
  // tones and channels so far; elsewhere all is computed anew.
  void add(Tone tone);
  void remove(std::size_t index);
  void move(std::size_t index, Tone to);
  void move_channel(std::size_t index, Band to);

  // Whether carriers share a raster, and so the fast way is used.
  bool on_raster() const { return tables_.has_value(); }

 private:
  // Where a channel lies on the raster: as these weights say, moved up by so many bins.
  struct Place {
    std::size_t weights = 0;
    std::int32_t shift = 0;
  };
  struct Weights {
    std::int64_t above_bin = 0;  // Hz, of the channel's lower edge
    std::int64_t width = 0;      // Hz
    ChannelWeights of_bins;
  };

  void compute_anew();
  void find_kinds();
  std::optional<std::size_t> kind_of(const Emission& emission) const;
  void fill_tables(const std::vector<Tone>& distinct);
  void place_channel(std::size_t channel);
  void compute_channel(std::size_t channel);
  void replace(std::optional<Tone> old, std::optional<Tone> fresh);
  std::optional<Tone> standing_on(Frequency frequency) const;
  std::optional<std::int32_t> bin_of(Frequency frequency) const;
  Frequency frequency_of(std::int32_t bin) const;
  std::vector<Place> places_of(Band channel);
  std::size_t weights_for(std::int64_t above_bin, std::int64_t width);
  BinWeights bin_weights(const Weights& channel, const ProductWidths& widths) const;
  double change_by(const PairTables::Carrier& carrier, std::size_t channel) const;
  void put(std::int32_t bin, const std::optional<Tone>& tone);
  void recompute_worn_out();

  std::vector<Tone> tones_;
  std::vector<Band> channels_;
  std::int64_t wanted_raster_;
  std::int64_t raster_ = 1;  // Hz
  std::int64_t base_ = 0;    // Hz, bin 0
  std::optional<PairTables> tables_;
  std::optional<SortedPairs> sorted_;
  Frequency reach_;                         // that any product reaches to each side of its centre
  std::vector<Emission> kinds_;             // of the tones
  std::vector<Weights> weights_;            // of channels that lie alike
  std::vector<std::vector<Place>> places_;  // of each channel, and of its mirror image
  std::vector<double> cubic_;               // mW³ in each channel; −1: to be added up
  std::vector<double> peaks_;               // the most each has been since it was added up
  // mW⁵ in each channel; none: not asked for since something changed.
  mutable std::optional<std::vector<double>> quintic_;
  int edits_ = 0;
};

}  // namespace catwalk::rf
