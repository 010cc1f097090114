// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/panel_side_metrics.hpp"

#include <array>
#include <cstdio>

namespace catwalk::web {
namespace {

using Type = MetricLines::Type;

// As OpenMetrics writes bounds: with a point. "2.5", "10.0"
std::string bound_text(double bound) {
  std::array<char, 24> text{};
  std::snprintf(text.data(), text.size(), "%g", bound);
  std::string written{text.data()};
  return written.find('.') == std::string::npos ? written + ".0" : written;
}

template <class Stage>
void histogram(MetricLines& lines, const std::string& name, const char* help,
               const std::map<Stage, Durations>& all) {
  lines.family(name, Type::histogram, help);
  for (const auto& [stage, durations] : all) {
    const auto outcome = label("outcome", rack::name_of(stage));
    for (std::size_t i = 0; i < Durations::bounds.size(); ++i)
      lines.sample(name + "_bucket", outcome + ',' + label("le", bound_text(Durations::bounds[i])),
                   static_cast<double>(durations.up_to(i)));
    const auto count = static_cast<double>(durations.count());
    lines.sample(name + "_bucket", outcome + ',' + label("le", "+Inf"), count);
    lines.sample(name + "_sum", outcome, durations.sum());
    lines.sample(name + "_count", outcome, count);
  }
}

void two(MetricLines& lines, const char* name, Type type, const char* help, const char* by,
         std::pair<const char*, std::uint64_t> a, std::pair<const char*, std::uint64_t> b) {
  lines.family(name, type, help);
  for (const auto& [word, count] : {a, b})
    lines.sample(name, label(by, word), static_cast<double>(count));
}

// Named as everybody names them: https://prometheus.io/docs/instrumenting/writing_clientlibs
void of_the_process(MetricLines& lines, const ProcessFigures& process) {
  lines.single("process_cpu_seconds_total", Type::counter, "Of user and system, since the start.",
               process.cpu_seconds);
  lines.single("process_resident_memory_bytes", Type::gauge, "In memory now.",
               process.resident_bytes);
  lines.single("process_virtual_memory_bytes", Type::gauge, "Addresses in use.",
               process.virtual_bytes);
  lines.single("process_open_fds", Type::gauge, "Descriptors that are open.",
               process.open_descriptors);
  lines.single("process_max_fds", Type::gauge, "Descriptors that may be open.",
               process.most_descriptors);
  lines.single("process_threads", Type::gauge, "Threads.", process.threads);
  lines.single("process_start_time_seconds", Type::gauge, "When it was started, Unix time.",
               process.started);
}

}  // namespace

void panel_side_metrics(MetricLines& lines, const PanelSideFigures& figures) {
  if (figures.timings) {
    histogram(lines, "catwalk_change_duration_seconds",
              "Of changes that have ended, from when they were asked for.",
              figures.timings->changes());
    histogram(lines, "catwalk_switch_duration_seconds",
              "Of switches that have ended, from when they were asked for.",
              figures.timings->switches());
  }
  two(lines, "catwalk_reloads_total", Type::counter,
      "How often the files were read again, since start.", "outcome",
      {"taken", figures.reloads_taken}, {"refused", figures.reloads_refused});
  two(lines, "catwalk_logins_total", Type::counter,
      "Tokens that were shown to log in, since start.", "outcome", {"done", figures.logins},
      {"refused", figures.logins_refused});
  two(lines, "catwalk_feed_panels", Type::gauge, "Panels on the live feed, by how they are told.",
      "nodes", {"whole", figures.panels_whole}, {"patches", figures.panels_patches});
  lines.single("catwalk_feed_changes_total", Type::counter,
               "Changes told on the feed, since start.", static_cast<double>(figures.feed_changes));
  lines.single("catwalk_feed_backlogs_dropped_total", Type::counter,
               "How often a panel fell behind and was given a snapshot instead, since start.",
               static_cast<double>(figures.feed_backlogs_dropped));
  if (const auto& ends = figures.certificate_ends)
    lines.single("catwalk_certificate_end_timestamp_seconds", Type::gauge,
                 "When the certificate that is shown ends, Unix time.",
                 static_cast<double>(ends->time_since_epoch().count()));
  if (!figures.version.empty()) {
    lines.family("catwalk_build_info", Type::info, "Which Catwalk this is.");
    lines.sample("catwalk_build_info",
                 label("version", figures.version) + ',' + label("commit", figures.commit), 1);
  }
  if (figures.process) of_the_process(lines, *figures.process);
}

}  // namespace catwalk::web
