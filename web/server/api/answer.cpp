// SPDX-License-Identifier: Apache-2.0
#include "web/server/api/answer.hpp"

#include <algorithm>
#include <boost/beast/http/status.hpp>
#include <string_view>
#include <utility>

#include "web/server/api/api.hpp"
#include "web/server/documents/metrics.hpp"
#include "web/server/http/accept.hpp"
#include "web/server/http/problem.hpp"

namespace catwalk::web {

namespace {

// Why no change can be made.
std::optional<std::string> hindrance(const rack::Snapshot& snapshot) {
  for (const auto& alarm : *snapshot.alarms)
    if (alarm.kind == rack::AlarmKind::journal_failed && alarm.active()) return alarm.sentence;
  if (snapshot.control == rack::Control::watching)
    return snapshot.watching_because + " This daemon only watches.";
  return std::nullopt;
}

}  // namespace

std::optional<HttpResponse> health(const HttpRequest& request, const Gate& gate) {
  if (request.method != "GET" && request.method != "HEAD") return std::nullopt;
  constexpr auto text = "text/plain; charset=utf-8";
  if (request.path == "/healthz") return HttpResponse{200, text, "ok\n", {}};
  if (request.path != "/readyz") return std::nullopt;
  if (const auto why = hindrance(*gate.snapshot()))
    return HttpResponse{503, text, *why + '\n', {{"Retry-After", "1"}}};
  return HttpResponse{200, text, "ok\n", {}};
}

bool asks_for_metrics(const HttpRequest& request) {
  return request.path == "/metrics" && (request.method == "GET" || request.method == "HEAD");
}

HttpResponse metrics(const HttpRequest& request, const Gate& gate, PanelSideFigures panel_side) {
  constexpr std::string_view open_metrics = "application/openmetrics-text";
  const auto accept = request.header("accept");
  const bool as_open_metrics = names_type(accept, open_metrics) &&
                               weight_of(accept, open_metrics) > 0 &&
                               weight_of(accept, open_metrics) >= weight_of(accept, "text/plain");
  const Figures figures{gate.line_figures(), gate.show_control_figures(), gate.journal_figures(),
                        std::move(panel_side)};
  return {200,
          as_open_metrics ? std::string{open_metrics} + "; version=1.0.0; charset=utf-8"
                          : "text/plain; version=0.0.4; charset=utf-8",
          metrics_text(*gate.snapshot(), figures,
                       as_open_metrics ? MetricFormat::open_metrics : MetricFormat::prometheus),
          {{"Vary", "Accept"}}};
}

HttpResponse too_much_is_sent() {
  return passing_problem(503, "busy", "Too many long answers are on their way already. Ask again.",
                         std::chrono::seconds{5});
}

// Written by hand: what we say is simple, and putting it together takes Beast's serializer more
// time than all that is done to find the answer.
void append_head(std::string& head, const HttpResponse& response, bool keep_alive,
                 std::string_view date) {
  const auto add = [&head](std::string_view name, std::string_view value) {
    head.append(name).append(": ").append(value).append("\r\n");
  };
  head.append("HTTP/1.1 ").append(std::to_string(response.status)).append(" ");
  const auto status = boost::beast::http::int_to_status(static_cast<unsigned>(response.status));
  head.append(boost::beast::http::obsolete_reason(status)).append("\r\n");
  add("Date", date);
  if (!response.content_type.empty()) add("Content-Type", response.content_type);
  const auto says = [&response](std::string_view name) {
    return std::ranges::any_of(response.headers,
                               [name](const auto& header) { return header.first == name; });
  };
  if (!says("Cache-Control")) add("Cache-Control", "no-store");
  add("X-Content-Type-Options", "nosniff");
  if (response.content_type.starts_with("text/html")) {
    if (!says("Content-Security-Policy"))
      add("Content-Security-Policy",
          "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; "
          "object-src 'none'");
    add("Referrer-Policy", "no-referrer");
    add("Cross-Origin-Opener-Policy", "same-origin");
  }
  add("Cross-Origin-Resource-Policy", "same-origin");
  for (const auto& [name, value] : response.headers) add(name, value);
  if (!keep_alive) add("Connection", "close");
  // A 204 has no length; a 304 has no body, and a length would be that of the one it does not have:
  // RFC 9110, section 8.6.
  if (response.status != 204 && response.status != 304)
    add("Content-Length", std::to_string(response.content().size()));
  head.append("\r\n");
}

}  // namespace catwalk::web
