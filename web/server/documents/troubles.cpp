// SPDX-License-Identifier: Apache-2.0
#include "web/server/documents/troubles.hpp"

#include <map>
#include <utility>

#include "daemon/rack/values/alarm.hpp"

namespace catwalk::web {

std::vector<Trouble> troubles_in(const std::vector<rack::StoredEntry>& rows,
                                 rack::TimePoint begin) {
  std::vector<Trouble> all;
  std::map<std::pair<std::string, std::string>, std::size_t> open;  // by kind and subject
  for (auto row = rows.rbegin(); row != rows.rend(); ++row) {
    const auto& entry = row->entry;
    if (entry.kind != rack::JournalKind::alarm) continue;
    const std::pair key{entry.what.substr(0, entry.what.find(' ')), entry.node};
    const auto found = open.find(key);
    if (entry.what.ends_with(" raised")) {
      // Raised again with other words: it goes on. What happens, and does not last, happens again.
      if (found != open.end() && lasts(key.first)) continue;
      open.insert_or_assign(key, all.size());
      all.push_back({entry.at, {}, &entry});
    } else if (entry.what.ends_with(" returned")) {
      if (found == open.end())
        all.push_back({begin, entry.at, &entry});
      else
        all[found->second].until = entry.at;
      open.erase(key);
    }
  }
  return all;
}

bool lasts(const std::string& kind) {
  return kind != rack::name_of(rack::AlarmKind::switch_failed) &&
         kind != rack::name_of(rack::AlarmKind::change_failed) &&
         kind != rack::name_of(rack::AlarmKind::trigger_held);
}

}  // namespace catwalk::web
