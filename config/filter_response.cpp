// SPDX-License-Identifier: Apache-2.0
#include "config/filter_response.hpp"

#include <algorithm>
#include <cmath>

#include "config/datasheet_file.hpp"
#include "config/exact_number.hpp"
#include "config/rf_values.hpp"

namespace catwalk::config {
namespace {

using rf::FilterShape;
using rf::Frequency;

using Model = std::shared_ptr<const plan::FilterModel>;

constexpr double most_loss = 20.0;  // dB, at mid-band
// The mathematics go down to 1. Nobody builds a resonator this bad, and the distance between the
// two keeps what was checked here away from what could fail by rounding.
constexpr double worst_quality = 2.0;

struct Point {
  rf::TuningPoint tuned;
  Cursor at_width;
  Cursor at_loss;
};

Frequency middle_of(const rf::Band& band) { return band.low + band.width() / 2; }

// The loss that the design has at mid-band beyond that of a lossless one, when its resonators are
// as bad as can be; 0 to 20 dB, in whole hundredths.
double most_loss_of(rf::BandPassDesign design, const rf::TuningPoint& tuned) {
  design.edges = rf::Band::around(tuned.centre, tuned.width);
  const auto ideal = rf::IdealBandPass::make(design);
  const auto worst = rf::LossyBandPass::make(design, worst_quality);
  if (!ideal || !worst) return 0.0;  // its own mistake has been reported
  const auto centre = Frequency::hertz(std::llround(design.centre_hertz()));
  const double loss = (worst->attenuation(centre) - ideal->attenuation(centre)).value();
  return std::floor(std::clamp(loss, 0.0, most_loss) * 100.0) / 100.0;
}

// Between two points width and loss follow straight lines. Width over centre lies between those of
// the ends then, and what a filter can lose at most falls with it: so no centre in between can lose
// less than the end that can lose less, nor has to lose more than the end that loses more.
bool check_losses(const rf::BandPassDesign& design, const std::vector<Point>& points) {
  std::vector<double> most;
  for (const Point& point : points) most.push_back(most_loss_of(design, point.tuned));
  std::string reported;  // the ends of the tuning range repeat the point beside them
  for (std::size_t i = 0; i < points.size(); ++i) {
    double allowed = most[i];
    if (i > 0) allowed = std::min(allowed, most[i - 1]);
    if (i + 1 < points.size()) allowed = std::min(allowed, most[i + 1]);
    if (points[i].tuned.midband_loss.value() <= allowed) continue;
    if (points[i].at_loss.pointer() != reported)
      points[i].at_loss.report("is more than a filter of this shape and width can lose",
                               "0 to " + decimal_text(std::llround(allowed * 100.0), 2) +
                                   " dB, as far as resonators of quality factor 2 go");
    reported = points[i].at_loss.pointer();
  }
  return reported.empty();
}

// Of a list of points those that count for the tuning range: its ends as well.
std::vector<Point> with_the_ends(std::vector<Point> points, const plan::Filter& filter) {
  if (!filter.tuning) return points;
  if (filter.tuning->lowest < points.front().tuned.centre) {
    Point first = points.front();
    first.tuned.centre = filter.tuning->lowest;
    points.insert(points.begin(), std::move(first));
  }
  if (points.back().tuned.centre < filter.tuning->highest) {
    Point last = points.back();
    last.tuned.centre = filter.tuning->highest;
    points.push_back(std::move(last));
  }
  return points;
}

bool check_width(const Point& point, Frequency centre) {
  if (point.tuned.width / 2 < centre) return true;
  point.at_width.report("reaches below 0 MHz at " + megahertz_text(centre) + " MHz",
                        "less than twice the centre");
  return false;
}

std::optional<Point> read_tuning_point(const Cursor& at, Rising& centres) {
  const Object object{at, {"centre_mhz", "width_mhz", "loss_db"}, {}};
  const auto centre = object["centre_mhz"].megahertz(lowest_node_frequency, highest_node_frequency);
  const auto width =
      object["width_mhz"].megahertz(Frequency::kilohertz(100), Frequency::kilohertz(1'000'000));
  const auto loss = read_ratio(object["loss_db"], 0, most_loss);
  const bool rises = !centre || centres.add(centre->hertz(), object["centre_mhz"]);
  if (!centre || !width || !loss || !rises) return std::nullopt;
  Point point{{*centre, *width, *loss}, object["width_mhz"], object["loss_db"]};
  if (!check_width(point, *centre)) return std::nullopt;
  return point;
}

// Empty if anything is wrong.
std::vector<Point> read_tuning(const Cursor& at) {
  std::vector<Point> points;
  Rising centres{6, "MHz"};
  bool good = true;
  for (const Cursor& element : at.elements(1, most_tuning_points)) {
    auto point = read_tuning_point(element, centres);
    good = good && point;
    if (point) points.push_back(std::move(*point));
  }
  return good ? points : std::vector<Point>{};
}

// One loss for every centre, and the width that the filter has anyway.
std::vector<Point> read_constant(const Cursor& at, const plan::Filter* filter) {
  const auto loss = read_ratio(at, 0, most_loss);
  if (!loss || filter == nullptr) return {};
  const Frequency centre = filter->tuning ? filter->tuning->lowest : middle_of(filter->fixed);
  return {Point{{centre, filter->width, *loss}, at, at}};
}

std::vector<Point> read_points(const Object& object, const plan::Filter* filter) {
  const Cursor loss = object["loss_db"];
  const Cursor tuning = object["tuning"];
  if (filter != nullptr && !filter->tuning && tuning.present()) {
    tuning.report("is given, but a fixed filter is not tuned", "the member \"loss_db\"");
    return {};
  }
  if (filter != nullptr && !filter->tuning && !loss.present()) {
    object.at().report_about("\"loss_db\" is missing", "0 to 20 dB");
    return {};
  }
  if (!exactly_one(object, "loss_db", "tuning", "the loss cannot be both one and a table",
                   "the loss at mid-band is missing"))
    return {};
  return tuning.present() ? read_tuning(tuning) : read_constant(loss, filter);
}

Model read_design(const Cursor& at, const plan::Filter* filter) {
  const Object object{at, {"shape", "order", "edge_loss_db"}, {"loss_db", "tuning"}};
  const auto shape = object["shape"].one_of<rf::FilterShape>();
  const auto order = object["order"].integer(1, 15);
  const auto edge_loss = read_ratio(object["edge_loss_db"], 0.0001, 10);
  const std::vector<Point> points = read_points(object, filter);
  if (!shape || !order || !edge_loss || points.empty() || filter == nullptr) return nullptr;
  if (filter->tuning && !check_width(points.front(), filter->tuning->lowest)) return nullptr;

  const rf::BandPassDesign design{*shape, static_cast<int>(*order), *edge_loss, {}};
  if (!check_losses(design, with_the_ends(points, *filter))) return nullptr;
  std::vector<rf::TuningPoint> tuning;
  for (const Point& point : points) tuning.push_back(point.tuned);
  auto model = rf::TunableFilter::make(design.shape, design.order, design.edge_loss, tuning);
  if (!model) {
    at.report_about("this filter cannot be computed: " + model.error().message(), "");
    return nullptr;
  }
  return std::make_shared<const plan::FilterModel>(std::move(*model));
}

std::optional<rf::MeasuredResponse> read_table(const Cursor& at) {
  std::vector<rf::ResponsePoint> points;
  Rising frequencies{6, "MHz"};
  const std::vector<Cursor> elements = at.elements(2, most_measured_points);
  for (const Cursor& element : elements) {
    const Object object{element, {"mhz", "db"}, {}};
    const auto frequency =
        object["mhz"].megahertz(Frequency::kilohertz(100), Frequency::kilohertz(20'000'000));
    const auto attenuation = read_ratio(object["db"], -100, 300);
    const bool rises = !frequency || frequencies.add(frequency->hertz(), object["mhz"]);
    if (frequency && attenuation && rises) points.push_back({*frequency, *attenuation});
  }
  if (elements.empty() || points.size() != elements.size()) return std::nullopt;
  auto response = rf::MeasuredResponse::make(std::move(points));
  if (response) return std::move(*response);
  at.report_about("this table cannot be computed with: " + response.error().message(), "");
  return std::nullopt;
}

std::optional<Frequency> read_measured_at(const Object& object, const plan::Filter& filter) {
  const Cursor at = object["measured_at_mhz"];
  if (!filter.tuning) {
    if (!at.present()) return middle_of(filter.fixed);
    at.report("is given, but a fixed filter stays where it is", "no member \"measured_at_mhz\"");
    return std::nullopt;
  }
  const std::string range = megahertz_text(filter.tuning->lowest) + " to " +
                            megahertz_text(filter.tuning->highest) + " MHz";
  if (!at.present()) {
    object.at().report_about("a sliding filter was measured at some centre, which is missing",
                             "the member \"measured_at_mhz\", " + range);
    return std::nullopt;
  }
  const auto centre = at.megahertz(lowest_node_frequency, highest_node_frequency);
  if (!centre || filter.tuning->reaches(*centre)) return centre;
  at.report("is outside where the filter can be tuned", range);
  return std::nullopt;
}

Model read_measured(const Cursor& at, const plan::Filter* filter) {
  const Object object{at, {"measured"}, {"measured_at_mhz"}};
  auto response = read_table(object["measured"]);
  if (filter == nullptr) return nullptr;
  const auto measured_at = read_measured_at(object, *filter);
  if (!response || !measured_at) return nullptr;
  return std::make_shared<const plan::FilterModel>(
      plan::MeasuredFilter{std::move(*response), *measured_at});
}

}  // namespace

Model read_response(const Cursor& at, const plan::Filter* filter) {
  const bool measured =
      at.member_if_any("measured").present() || at.member_if_any("measured_at_mhz").present();
  return measured ? read_measured(at, filter) : read_design(at, filter);
}

}  // namespace catwalk::config
