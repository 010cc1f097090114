// SPDX-License-Identifier: Apache-2.0
#include "config/show_file.hpp"

#include "config/running_order_section.hpp"
#include "config/segment_section.hpp"

namespace catwalk::config {

Show read_show(const Cursor& root, const RackFacts& rack) {
  const Object object{root, {"name", "segments"}, {"$schema", "running_order"}};
  object["name"].name();
  SegmentSection segments{object["segments"], rack};
  Show show;
  show.running_order =
      read_running_order(object["running_order"], segments.names(), segments.incomplete());
  show.segments = std::move(segments).take();
  return show;
}

}  // namespace catwalk::config
