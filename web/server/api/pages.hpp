// SPDX-License-Identifier: Apache-2.0
#pragma once
// The journal, read page by page, so that whoever else reads has a turn in between; made into text
// where it is read.

#include <cstdint>
#include <functional>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "web/server/api/gate.hpp"

namespace catwalk::web {

constexpr std::size_t page = 1000;
constexpr std::size_t most_text = 16'777'216;  // bytes of a table

// Reads pages until there are no more rows, or enough of them.
class Pages : public std::enable_shared_from_this<Pages> {
 public:
  struct End {
    std::optional<rack::Unread> unread = {};           // why it could not be read
    bool more = false;                                 // there are rows that were not asked for
    bool too_long = false;                             // its text would be longer than most_text
    std::optional<std::uint64_t> looked_down_to = {};  // all readings are used up
    std::string text = {};                             // of all pages, one after the other
    std::vector<rack::StoredEntry> rows = {};          // or, without a text, they themselves
  };
  using Done = std::function<void(End)>;
  using Row = std::function<void(std::string& text, const rack::StoredEntry& row)>;
  struct Ask {
    rack::JournalQuery query;
    std::size_t rows = 0;  // in all
    Row row = nullptr;     // adds to the text
    int readings = std::numeric_limits<int>::max();
    bool tells_of_more = true;  // for which one row more than is wanted has to be read
  };

  Pages(Gate& gate, Ask ask, Done done)
      : gate_{gate}, ask_{std::move(ask)}, done_{std::move(done)} {}

  void read() {
    ask_.query.limit = std::min(page, ask_.rows + (ask_.tells_of_more ? 1 : 0));
    Gate::Render render;
    if (ask_.row != nullptr)
      render = [row = ask_.row, wanted = ask_.rows](const std::vector<rack::StoredEntry>& rows) {
        std::string text;
        for (std::size_t i = 0; i < std::min(wanted, rows.size()); ++i) row(text, rows[i]);
        return text;
      };
    gate_.read_journal(ask_.query, std::move(render),
                       [self = shared_from_this()](auto read) { self->took(std::move(read)); });
  }

 private:
  void took(Gate::JournalRead read) {
    if (!read) return finish({.unread = read.error()});
    auto& [rows, looked_down_to] = read.value().page;
    const bool full = rows.size() >= ask_.query.limit;
    const bool more = rows.size() > ask_.rows;
    if (full) ask_.query.before = rows.back().sequence;
    if (more) rows.resize(ask_.rows);
    ask_.rows -= rows.size();
    end_.text += read.value().text;
    // A list has so few rows that it goes out whatever they are.
    if (ask_.tells_of_more && end_.text.size() > most_text) return finish({.too_long = true});
    if (ask_.row == nullptr) std::ranges::move(rows, std::back_inserter(end_.rows));
    if (more || (ask_.rows == 0 && !ask_.tells_of_more)) return finish({.more = more});
    if (!full && !looked_down_to) return finish({});
    if (!full) ask_.query.before = looked_down_to;
    if (!full && --ask_.readings == 0) return finish({.looked_down_to = looked_down_to});
    ask_.query.goes_on = true;
    this->read();
  }
  void finish(End end) {
    end.text = std::move(end_.text);
    end.rows = std::move(end_.rows);
    done_(std::move(end));
  }

  Gate& gate_;
  Ask ask_;  // what is left of it
  Done done_;
  End end_;
};

void read_pages(Gate& gate, Pages::Ask ask, Pages::Done done);

}  // namespace catwalk::web
