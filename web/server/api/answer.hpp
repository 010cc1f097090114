// SPDX-License-Identifier: Apache-2.0
#pragma once
// What every answer has in common, and the few that are not the API's. Knows no sockets.

#include <optional>
#include <string>

#include "web/server/api/gate.hpp"
#include "web/server/http/http.hpp"

namespace catwalk::web {

// Said to anybody. /healthz: that we live; /readyz: that changes can be made, or 503 and why not.
std::optional<HttpResponse> health(const HttpRequest& request, const Gate& gate);

// GET /metrics, as Prometheus reads it, or as OpenMetrics for whoever names that and wants it no
// less.
bool asks_for_metrics(const HttpRequest& request);
HttpResponse metrics(const HttpRequest& request, const Gate& gate, PanelSideFigures panel_side);

// Instead of one that would take more memory, until it is sent, than answers may.
HttpResponse too_much_is_sent();

// Status line and header fields, up to the empty line. `date`: as http_date() has it.
void append_head(std::string& head, const HttpResponse& response, bool keep_alive,
                 std::string_view date);

}  // namespace catwalk::web
