// SPDX-License-Identifier: Apache-2.0
#include "daemon/rf/filter.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace catwalk::rf {
namespace {

using std::numbers::pi;
constexpr double highest_q = 1e9;

// ε²: how far the edge loss lies over 0 dB.
double ripple_of(const BandPassDesign& design) {
  return std::expm1(design.edge_loss.value() * std::log(10.0) / 10.0);
}

// T_n(Ω) for |Ω| ≥ 0; even in Ω up to the sign, which the square drops.
double chebyshev_polynomial(int order, double omega) {
  const double x = std::abs(omega);
  return x <= 1.0 ? std::cos(order * std::acos(x)) : std::cosh(order * std::acosh(x));
}

double detuning_of(Frequency frequency, double centre) {
  const double ratio = static_cast<double>(frequency.hertz()) / centre;
  return ratio - 1.0 / ratio;
}

}  // namespace

double BandPassDesign::centre_hertz() const {
  return std::sqrt(static_cast<double>(edges.low.hertz())) *
         std::sqrt(static_cast<double>(edges.high.hertz()));
}

double BandPassDesign::fractional_bandwidth() const {
  return static_cast<double>(edges.width().hertz()) / centre_hertz();
}

std::optional<OutOfRange> check(const BandPassDesign& design) {
  auto fault = check_range("order", design.order, 1, 15, "");
  if (!fault) fault = check_range("edge_loss", design.edge_loss.value(), 1e-4, 10.0, "dB");
  const double low = static_cast<double>(design.edges.low.hertz());
  const double high = static_cast<double>(design.edges.high.hertz());
  if (!fault) fault = check_range("lower_edge", low, 1.0, 1e12, "Hz");
  if (!fault) fault = check_range("upper_edge", high, low + 1.0, 1e12, "Hz");
  return fault;
}

std::vector<double> prototype_values(const BandPassDesign& design) {
  const int n = design.order;
  const auto sine = [n](int k) { return std::sin((2 * k - 1) * pi / (2.0 * n)); };
  std::vector<double> g;
  g.reserve(static_cast<std::size_t>(n) + 1);
  if (design.shape == FilterShape::butterworth) {
    // Tables hold for ε = 1; another edge loss stretches the frequency scale by ε^(1/n).
    const double stretch = std::pow(ripple_of(design), 0.5 / n);
    for (int k = 1; k <= n; ++k) g.push_back(2.0 * sine(k) * stretch);
    g.push_back(1.0);
    return g;
  }
  const double beta = -std::log(std::tanh(design.edge_loss.value() * std::log(10.0) / 40.0));
  const double gamma = std::sinh(beta / (2.0 * n));
  const auto b = [n, gamma](int k) {
    const double s = std::sin(k * pi / n);
    return gamma * gamma + s * s;
  };
  g.push_back(2.0 * sine(1) / gamma);
  for (int k = 2; k <= n; ++k) {
    g.push_back(4.0 * sine(k - 1) * sine(k) / (b(k - 1) * g.back()));
  }
  const double coth = 1.0 / std::tanh(beta / 4.0);
  g.push_back(n % 2 == 1 ? 1.0 : coth * coth);
  return g;
}

IdealBandPass::IdealBandPass(const BandPassDesign& design)
    : design_{design},
      centre_{design.centre_hertz()},
      fractional_{design.fractional_bandwidth()},
      ripple_{ripple_of(design)} {}

Checked<IdealBandPass> IdealBandPass::make(const BandPassDesign& design) {
  if (auto fault = check(design)) return Failure{*fault};
  return IdealBandPass{design};
}

Decibel IdealBandPass::attenuation(Frequency frequency) const {
  const double omega = detuning_of(frequency, centre_) / fractional_;
  const double magnitude = design_.shape == FilterShape::butterworth
                               ? std::pow(std::abs(omega), design_.order)
                               : chebyshev_polynomial(design_.order, omega);
  return Decibel::of(10.0 / std::log(10.0) * std::log1p(ripple_ * magnitude * magnitude));
}

LossyBandPass::LossyBandPass(const BandPassDesign& design, double unloaded_q)
    : design_{design}, centre_{design.centre_hertz()}, dissipation_{1.0 / unloaded_q} {
  slopes_ = prototype_values(design);
  const double last = slopes_.back();
  slopes_.pop_back();
  load_ = design.order % 2 == 1 ? last : 1.0 / last;
  for (auto& slope : slopes_) slope /= design.fractional_bandwidth();
}

Checked<LossyBandPass> LossyBandPass::make(const BandPassDesign& design, double unloaded_q) {
  if (auto fault = check(design)) return Failure{*fault};
  if (auto fault = check_range("unloaded_q", unloaded_q, 1.0, highest_q, "")) {
    return Failure{*fault};
  }
  return LossyBandPass{design, unloaded_q};
}

Checked<LossyBandPass> LossyBandPass::with_midband_loss(const BandPassDesign& design,
                                                        Decibel loss) {
  if (auto fault = check(design)) return Failure{*fault};
  LossyBandPass filter{design, 1.0};
  const auto loss_at = [&filter](double dissipation) {
    filter.dissipation_ = dissipation;
    return filter.attenuation_at(0.0).value();
  };
  const double lossless = loss_at(0.0);
  const double most = std::min(20.0, loss_at(1.0) - lossless);
  if (auto fault = check_range("midband_loss", loss.value(), 0.0, most, "dB")) {
    return Failure{*fault};
  }
  // The loss grows with the dissipation; 1/Q is found by halving.
  double low = 1.0 / highest_q;
  double high = 1.0;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2.0;
    (loss_at(middle) - lossless < loss.value() ? low : high) = middle;
  }
  filter.dissipation_ = (low + high) / 2.0;
  return filter;
}

Decibel LossyBandPass::attenuation(Frequency frequency) const {
  return attenuation_at(detuning_of(frequency, centre_));
}

Decibel LossyBandPass::attenuation_at(double detuning) const {
  // The chain matrix of the ladder, row by row, from the source; shunt resonator first. Shunt
  // admittances and series impedances are the same number: g/FBW·(jν + 1/Q).
  std::complex<double> a = 1.0, b = 0.0, c = 0.0, d = 1.0;
  bool shunt = true;
  for (const double slope : slopes_) {
    const std::complex<double> x{slope * dissipation_, slope * detuning};
    if (shunt) {
      a += b * x;
      c += d * x;
    } else {
      b += a * x;
      d += c * x;
    }
    shunt = !shunt;
  }
  // Power available from the source (resistance 1) over power in the load.
  return Decibel::from_ratio(std::norm(a * load_ + b + c * load_ + d) / (4.0 * load_));
}

}  // namespace catwalk::rf
