// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/daemon.hpp"

#include <spdlog/spdlog.h>
#include <sys/resource.h>

#include <algorithm>
#include <asio.hpp>
#include <csignal>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <utility>

#include "daemon/rack/rules/carrier_rules.hpp"
#include "daemon/shell/certificate.hpp"
#include "daemon/shell/doors.hpp"
#include "daemon/shell/field.hpp"
#include "daemon/shell/journal_tasks.hpp"
#include "daemon/shell/lines.hpp"
#include "daemon/shell/login_key.hpp"
#include "daemon/shell/rack_files.hpp"
#include "daemon/shell/reload.hpp"
#include "daemon/shell/service_manager.hpp"
#include "daemon/shell/show_control.hpp"
#include "daemon/shell/state_folder.hpp"
#include "daemon/shell/wall_clock.hpp"
#include "web/server/wire/server.hpp"

namespace catwalk::shell {
namespace {

// Every connection is a descriptor: web::SeatLimits has more than the 1024 that a shell allows by
// default.
void allow_many_descriptors() {
  constexpr rlim_t enough = 4'096;
  rlimit limit{};
  if (getrlimit(RLIMIT_NOFILE, &limit) != 0 || limit.rlim_cur >= enough) return;
  limit.rlim_cur = std::min(limit.rlim_max, enough);
  setrlimit(RLIMIT_NOFILE, &limit);
}

// Calls `task` at every signal of the set.
void on_signals(asio::signal_set& signals, const std::function<void()>& task) {
  signals.async_wait([&signals, task](std::error_code error, int) {
    if (error) return;
    task();
    on_signals(signals, task);
  });
}

void feed_watchdog(asio::steady_timer& timer, std::chrono::microseconds interval) {
  tell_service_manager("WATCHDOG=1");
  timer.expires_after(interval);
  timer.async_wait([&timer, interval](std::error_code error) {
    if (!error) feed_watchdog(timer, interval);
  });
}

// The timer is set anew after each event, since each may bring the next look nearer.
void keep_looking(asio::steady_timer& timer, Field& field) {
  timer.expires_after(field.until_next_look());
  timer.async_wait([&timer, &field](std::error_code error) {
    if (error) return;
    field.look_at_clock();
    keep_looking(timer, field);
  });
}

// The rooms, wired together. Members end in the opposite order: who is told of something ends
// before whom it is told by.
class Daemon {
 public:
  Daemon(asio::io_context& io, const Options& options, config::RackFile& rack,
         store::OpenedStore store, std::vector<NamedLine> lines)
      : options_{options},
        rack_{rack},
        epoch_{store.restored.epoch},
        io_{io},
        field_{rack::Core{std::make_shared<const plan::RackPlan>(rack.plan),
                          std::move(store.restored), now(), lines_that_ask(rack)},
               std::move(store.journal),
               store.set_aside,
               std::move(lines),
               [this](std::function<void()> task) { asio::post(io_, std::move(task)); },
               [this](std::function<void()> task) { panel_.post(std::move(task)); }} {}

  // What is wrong if they cannot be opened; empty: they are open.
  std::string open_doors() {
    auto login_key = login_key_in(rack_.store.state_dir);
    if (!login_key) return login_key.error();
    if (!login_key->note.empty()) spdlog::error("{}", login_key->note);
    auto tls = read_tls(rack_);
    if (!tls) return tls.error();
    auto server = web::Server::open(panel_, field_,
                                    server_options(rack_, options_, login_key->key, tls.value()));
    if (!server) return server.error();
    server_ = std::move(server).value();
    tls_ = std::move(tls).value();
    if (!rack_.show_control) return {};
    auto door = ShowControl::open(io_, field_, *rack_.show_control);
    if (!door) return door.error();
    show_control_ = std::move(door).value();
    spdlog::info("show control: OSC 1.0 over UDP, {} port {}", text_of(rack_.show_control->bind.ip),
                 show_control_->port());
    return {};
  }

  // Until it is told to end. Precondition: the doors are open.
  void run() {
    on_signals(end_, [this] { io_.stop(); });
    const Running running{io_, options_, rack_, field_, *server_, certificate_};
    const auto read_again = [&running](const std::string& who) { return reload(running, who); };
    on_signals(again_, [&read_again] { (void)read_again("SIGHUP"); });
    if (const auto interval = watchdog_interval()) feed_watchdog(watchdog_, *interval);
    keep_looking(look_, field_);
    field_.start([this] { tell_of_snapshot(); }, [this] { look_earlier(); }, read_again);
    certificate_.is(std::move(tls_));
    panel_.start();
    say_that_it_runs();
    io_.run();

    tell_service_manager("STOPPING=1");
    server_->take_leave(std::chrono::seconds{1});
    panel_.stop();
    field_.stop();
    spdlog::info("stopped; every node keeps its settings");
  }

 private:
  void tell_of_snapshot() {
    server_->snapshot_changed();
    if (show_control_) show_control_->snapshot_changed();
  }
  void look_earlier() {
    if (std::chrono::steady_clock::now() + field_.until_next_look() < look_.expiry())
      keep_looking(look_, field_);
  }
  void say_that_it_runs() {
    spdlog::info("{}: epoch {}, {}://{}:{}", rack_.plan.name, epoch_.value,
                 rack_.server.tls ? "https" : "http", rack_.server.host, server_->port());
    if (!options_.socket.empty())
      spdlog::info("users of this machine: unix:{}", options_.socket.string());
    say_what_may_leave(rack_);
    tell_service_manager("READY=1");
  }

  const Options& options_;
  config::RackFile& rack_;
  protocol::Epoch epoch_;
  asio::io_context& io_;
  web::PanelLoop panel_{
      [](const std::string& what) { spdlog::error("a fault of this program: {}", what); }};
  Field field_;
  std::shared_ptr<const web::Tls> tls_;  // until it is shown
  std::unique_ptr<web::Server> server_;
  std::unique_ptr<ShowControl> show_control_;
  asio::signal_set end_{io_, SIGTERM, SIGINT};
  asio::signal_set again_{io_, SIGHUP};
  Certificate certificate_{io_, field_};
  asio::steady_timer watchdog_{io_};
  asio::steady_timer look_{io_};
};

}  // namespace

int check_files(const Options& options) {
  const auto rack = load_rack(options);
  if (!rack) return exit_bad_config;
  for (const auto& segment : rack->plan.segments)
    for (const auto& finding : rack::check_segment(rack->plan, segment).findings)
      if (finding.severity != rack::Severity::note)
        std::cout << segment.name.text << ": " << rack::name_of(finding.severity) << "  "
                  << rack::name_of(finding.rule) << ": " << finding.sentence << '\n';
  return exit_done;
}

int run_daemon(const Options& options) {
  auto rack = load_rack(options);
  if (!rack) return exit_bad_config;
  allow_many_descriptors();
  auto opened = open_store_of(*rack);
  if (!opened) {
    spdlog::error("journal: {}", opened.error().sentence);
    // Starting again does not make this program a later one.
    return opened.error().kind == store::StoreError::Kind::newer ? exit_bad_config : exit_failed;
  }
  auto store = std::move(opened).value();
  if (!store.set_aside.empty()) spdlog::error("journal: {}", store.set_aside);
  if (const auto& said = store.journal.brought_up(); !said.empty())
    spdlog::info("journal: {}", said);
  asio::io_context io{1};
  std::vector<NamedLine> lines;
  try {
    lines = make_lines(io, *rack, {store.restored.epoch, store.restored.spoken});
  } catch (const std::invalid_argument& error) {
    spdlog::error("{}", error.what());
    return exit_bad_config;
  }
  Daemon daemon{io, options, *rack, std::move(store), std::move(lines)};
  if (const auto trouble = daemon.open_doors(); !trouble.empty()) {
    spdlog::error("{}", trouble);
    return exit_failed;
  }
  daemon.run();
  return exit_done;
}

}  // namespace catwalk::shell
