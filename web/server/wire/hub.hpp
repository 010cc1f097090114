// SPDX-License-Identifier: Apache-2.0
#pragma once
// What all connections share, on the panel thread. Internal to the room; knows no Beast, so that
// the connections over TCP and over TLS can be compiled apart.

#include <atomic>
#include <cstddef>
#include <functional>
#include <list>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daemon/base/pinned.hpp"
#include "web/server/api/api.hpp"
#include "web/server/doors/access.hpp"
#include "web/server/doors/doorkeeper.hpp"
#include "web/server/doors/seats.hpp"
#include "web/server/feed/feed.hpp"
#include "web/server/wire/outbox.hpp"
#include "web/server/wire/server.hpp"

namespace catwalk::web {

rack::TimePoint wall_clock();
// 16 digits of chance.
std::string random_id();

// A panel on the live feed, over whatever it came.
class Panel : Pinned {
 public:
  virtual ~Panel() = default;

  virtual void tell(const ToldChange& change) = 0;
  // Its login is over: closes with 4401, which tells the page to ask for a new one.
  virtual void log_out() = 0;
  // The daemon ends: closes with 1001. `gone` is let go when that is done.
  virtual void take_leave(std::shared_ptr<void> gone) = 0;
  // By which it came; null: by none.
  virtual const Login* login() const = 0;
  // How it is told; nothing: it is not any more.
  virtual std::optional<Telling> telling() const = 0;
};

// Whoever holds a seat: a connection or a panel.
class Guest : Pinned {
 public:
  virtual ~Guest() = default;

  // Its seat is needed, and nobody has waited longer: closes.
  virtual void give_way() = 0;
  // By what it came is not good any more: closes, and says so if it can.
  virtual void turn_out() = 0;
};

class Seat;

class Hub {
 public:
  Hub(Gate& to_core, ServerOptions chosen, LongWork long_work)
      : gate{to_core},
        options{std::move(chosen)},
        logins{options.login_key, options.login_lasts},
        api{to_core, wall_clock, std::move(long_work)},
        feed{random_id(), to_core.snapshot(), options.readings_together},
        outbox{options.most_sent, options.most_sent_to_one},
        doors{options.doors},
        timings{*to_core.snapshot()},
        seats{options.seats} {}

  Gate& gate;
  const ServerOptions options;
  Logins logins;
  Api api;
  Feed feed;
  Outbox outbox;
  Doors doors;  // as they are now; those of the options are from the start
  Doorkeeper keeper;
  Timings timings;
  std::uint64_t backlogs_dropped = 0;
  std::atomic<std::uint64_t> reloads_taken{0}, reloads_refused{0};
  std::shared_ptr<const Tls> tls;  // that is shown; null: none
  std::function<void()> burst_began = [] {};
  std::vector<std::weak_ptr<Panel>> panels;
  Seats seats;
  std::list<Seat*> taken;
  // Those that can be had if they are needed, whoever has waited longest first: of connections that
  // wait for a request or for the rest of one, and of all strangers.
  std::list<Seat*> queue;

  // For the field Date; put together once a second.
  std::string_view date() {
    const auto now = std::chrono::floor<std::chrono::seconds>(wall_clock());
    if (date_.empty() || now != dated_) date_ = http_date(dated_ = now);
    return date_;
  }

  // Nothing: there is a seat for one more such, if need be one that another had to give.
  std::optional<Seats::Full> make_room(const Holder& newcomer);
  // Whoever came by what is not good any more is turned out.
  void replace_doors(std::vector<Token> tokens, std::vector<LocalUser> local_users);

  void tell_panels(const ToldChange& change) {
    std::erase_if(panels, [&](const std::weak_ptr<Panel>& weak) {
      const auto panel = weak.lock();
      if (panel) panel->tell(change);
      return !panel;
    });
  }

  // For /metrics.
  PanelSideFigures figures();

  // `gone` is let go when every panel has heard that the daemon ends.
  void take_leave(const std::shared_ptr<void>& gone) {
    for (const auto& weak : panels)
      if (const auto panel = weak.lock()) panel->take_leave(gone);
  }

  void log_out(const Login& login) {
    for (const auto& weak : panels)
      if (const auto panel = weak.lock(); panel && panel->login() && panel->login()->id == login.id)
        panel->log_out();
  }

 private:
  std::chrono::sys_seconds dated_{};
  std::string date_;
};

// What a connection or a panel holds for as long as it lives. Its guest must outlive it, or give it
// on.
class Seat {
 public:
  // Precondition: there is room.
  Seat(std::shared_ptr<Hub> hub, Holder holder, Guest* guest);
  Seat(const Seat&) = delete;
  Seat& operator=(const Seat&) = delete;
  ~Seat() { leave(); }

  const Holder& holder() const { return holder_; }
  const std::string& credential() const { return credential_; }
  Guest& guest() const { return *guest_; }
  void give_to(Guest* guest) { guest_ = guest; }

  // It is held as somebody else from now on, by what was shown. Or why that is not possible.
  std::optional<Seats::Full> become(const Holder& holder, const std::string& credential);
  // From now on it can be had, once all those that stand there already are gone.
  void queue_up();
  void leave_queue();
  // It is free. Nothing happens if it was already.
  void leave();

 private:
  std::shared_ptr<Hub> hub_;
  Holder holder_;
  std::string credential_;
  Guest* guest_;
  bool held_ = true;
  bool in_line_ = false;
  std::list<Seat*>::iterator in_taken_;
  std::list<Seat*>::iterator in_queue_;
};

}  // namespace catwalk::web
