// SPDX-License-Identifier: Apache-2.0
#pragma once
// What lies over frequency, as JSON: responses, and the spectrum of a segment. dB and dBm to 0.001.

#include "daemon/rack/outlook/spectrum.hpp"
#include "web/server/documents/render.hpp"

namespace catwalk::web {

// {"gain_db": …, "filters": […], …}: what may be asked of a node.
Json render_allowed(const plan::RackPlan& plan, const plan::Node& node);

// {"node", "settings", "passband_mhz"?, "skirt_mhz"?, "carriers", "through", "frequency_mhz": […],
// "gain_db": […]} `picture`: of that node and those settings, on the carriers of `segment`.
Json render(const rack::NodePicture& picture, const plan::Segment& segment, const plan::Node& node,
            const plan::Settings& settings);

// `live`: of the segment's carriers. `nodes`, `in_force` and `seen`: of the plan's nodes; of those
// that were not seen only what is wanted is known.
Json render_spectrum(const plan::RackPlan& plan, const plan::Segment& segment, const rf::Band& span,
                     const std::vector<bool>& live, const std::vector<rack::NodeSpectrum>& nodes,
                     const std::vector<std::optional<plan::Settings>>& in_force,
                     const std::vector<bool>& seen);

}  // namespace catwalk::web
