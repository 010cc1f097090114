// SPDX-License-Identifier: Apache-2.0
#pragma once
// What all connections share, on the panel thread. Internal to the room; knows no Beast, so that
// the connections over TCP and over TLS can be compiled apart.

#include <cstddef>
#include <functional>
#include <list>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "web/server/access.hpp"
#include "web/server/api.hpp"
#include "web/server/feed.hpp"
#include "web/server/outbox.hpp"
#include "web/server/server.hpp"

namespace catwalk::web {

rack::TimePoint wall_clock();
// 16 digits of chance.
std::string random_id();

// A panel on the live feed, over whatever it came.
class Panel {
 public:
  Panel() = default;
  Panel(const Panel&) = delete;
  Panel& operator=(const Panel&) = delete;
  virtual ~Panel() = default;

  virtual void push(const SharedText& text) = 0;
  // Its login is over: closes with 4401, which tells the page to ask for a new one.
  virtual void log_out() = 0;
  // By which it came; null: by none.
  virtual const Login* login() const = 0;
};

// A connection that waits for a request, or for the rest of one.
class Waiting {
 public:
  Waiting() = default;
  Waiting(const Waiting&) = delete;
  Waiting& operator=(const Waiting&) = delete;
  virtual ~Waiting() = default;

  // All places are taken, and nobody has waited longer: closes.
  virtual void give_way() = 0;
};

class Hub {
 public:
  Hub(Gate& to_core, ServerOptions chosen, LongWork long_work)
      : gate{to_core},
        options{std::move(chosen)},
        logins{options.login_key, options.login_lasts},
        api{to_core, wall_clock, std::move(long_work)},
        feed{random_id(), to_core.snapshot()},
        outbox{options.most_sent, options.most_sent_to_one} {}

  Gate& gate;
  const ServerOptions options;
  Logins logins;
  Api api;
  Feed feed;
  Outbox outbox;
  std::vector<std::weak_ptr<Panel>> panels;
  std::size_t connections = 0;
  std::list<Waiting*> waiting;  // the longest first

  void tell_panels(const SharedText& text) {
    std::erase_if(panels, [&](const std::weak_ptr<Panel>& weak) {
      const auto panel = weak.lock();
      if (panel) panel->push(text);
      return !panel;
    });
  }

  void log_out(const Login& login) {
    for (const auto& weak : panels)
      if (const auto panel = weak.lock(); panel && panel->login() && panel->login()->id == login.id)
        panel->log_out();
  }
};

// Counts a connection for as long as it lives.
class Place {
 public:
  explicit Place(std::shared_ptr<Hub> hub) : hub_{std::move(hub)} { ++hub_->connections; }
  Place(const Place&) = delete;
  Place& operator=(const Place&) = delete;
  ~Place() { --hub_->connections; }

 private:
  std::shared_ptr<Hub> hub_;
};

}  // namespace catwalk::web
