// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/daemon.hpp"

#include <spdlog/spdlog.h>
#include <sys/resource.h>

#include <asio.hpp>
#include <csignal>
#include <filesystem>
#include <iostream>

#include "config/load.hpp"
#include "daemon/shell/field.hpp"
#include "daemon/shell/lines.hpp"
#include "daemon/shell/login_key.hpp"
#include "daemon/shell/service_manager.hpp"
#include "daemon/shell/show_control.hpp"
#include "daemon/shell/wall_clock.hpp"
#include "drivers/node_actions.hpp"
#include "web/server/server.hpp"

namespace catwalk::shell {
namespace {

web::Role role_of(config::Role role) {
  switch (role) {
    case config::Role::watch:
      return web::Role::watch;
    case config::Role::operate:
      return web::Role::operate;
    case config::Role::engineer:
      return web::Role::engineer;
  }
  return web::Role::watch;
}

web::ServerOptions server_options(const config::RackFile& rack, const Options& options,
                                  std::string login_key) {
  web::ServerOptions server;
  server.host = rack.server.host;
  server.port = options.port.value_or(rack.server.port);
  server.socket = options.socket;
  const bool v6 = server.host.find(':') != std::string::npos;
  server.doors.hosts = {"localhost", "127.0.0.1", "[::1]",
                        v6 ? '[' + server.host + ']' : server.host};
  for (const auto& name : rack.server.allowed_hosts) server.doors.hosts.push_back(name);
  for (const auto& token : rack.tokens)
    server.doors.tokens.push_back({token.name, role_of(token.role), token.sha256});
  for (const auto& user : rack.local_users)
    server.doors.local_users.push_back({user.name, role_of(user.role)});
  server.doors.secure = rack.server.tls || rack.server.behind_tls_proxy;
  server.doors.without_tls_because = rack.server.without_tls_because;
  if (rack.server.tls)
    server.tls = {rack.server.tls->certificate.string(), rack.server.tls->private_key.string()};
  server.login_lasts = rack.server.login_lasts;
  server.login_key = std::move(login_key);
  return server;
}

std::filesystem::path journal_file(const config::RackFile& rack) {
  return rack.store.state_dir / "journal.sqlite";
}

Result<store::Journal, store::StoreError> open_journal(const config::RackFile& rack) {
  std::error_code error;
  std::filesystem::create_directories(rack.store.state_dir, error);
  if (error)
    return Failure{
        store::StoreError{"create " + rack.store.state_dir.string() + ": " + error.message()}};
  return store::Journal::open(journal_file(rack));
}

// What is opened at start can only change with a restart; names the first such part that differs.
std::optional<std::string> fixed_part_that_differs(const config::RackFile& running,
                                                   const config::RackFile& read) {
  const auto same_node = [](const plan::Node& a, const plan::Node& b) {
    return a.uid == b.uid && a.line == b.line && a.name == b.name;
  };
  if (running.lines != read.lines) return "lines";
  if (!std::ranges::equal(running.plan.nodes, read.plan.nodes, same_node)) return "nodes";
  if (running.server != read.server) return "server";
  if (running.tokens != read.tokens) return "tokens";
  if (running.local_users != read.local_users) return "local_users";
  if (running.store != read.store) return "state_dir";
  if (running.show_control != read.show_control) return "show_control";
  return std::nullopt;
}

config::Loaded load(const Options& options) {
  config::LoadOptions how;
  how.state_dir = options.state_dir;
  how.script_error = [](const std::string& line) -> std::optional<std::string> {
    const auto step = drivers::parse_script_step(line);
    if (step) return std::nullopt;
    return step.error();
  };
  return config::load(options.rack_file, how);
}

// None: the files are in force. Else what is wrong, and the old ones stay.
std::vector<std::string> reload(const Options& options, const config::RackFile& running,
                                Field& field) {
  tell_service_manager("RELOADING=1");
  auto loaded = load(options);
  std::vector<std::string> troubles;
  for (const auto& one : loaded.problems) troubles.push_back(config::to_text(one));
  if (loaded.rack) {
    if (const auto part = fixed_part_that_differs(running, *loaded.rack))
      troubles.push_back("/" + *part + " can only change with a restart");
    const auto snapshot = field.snapshot();
    if (snapshot->switching && !rack::is_end(snapshot->switching->stage))
      troubles.push_back("a switch to \"" + snapshot->switching->entered.text +
                         "\" is under way; try again when it has ended");
    const auto& active = snapshot->segment;
    if (loaded.rack->plan.find(active) == nullptr)
      troubles.push_back("the active segment \"" + active.text + "\" is not in the show any more");
  }
  for (const auto& trouble : troubles) spdlog::error("reload: refused: {}", trouble);
  if (troubles.empty()) {
    field.on(rack::PlanReplaced{
        std::make_shared<const plan::RackPlan>(std::move(loaded.rack->plan)), "reload"});
    spdlog::info("reload: done");
  }
  tell_service_manager("READY=1");
  return troubles;
}

// Every panel is a descriptor; what a shell allows by default, 1024, the connections alone may
// take.
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

}  // namespace

std::optional<config::RackFile> load_rack(const Options& options) {
  auto loaded = load(options);
  config::print(std::cerr, loaded.problems);
  return std::move(loaded.rack);
}

int verify_journal(const Options& options) {
  const auto rack = load_rack(options);
  if (!rack) return exit_bad_config;
  auto journal = store::Journal::open(journal_file(*rack));
  if (!journal) {
    std::cerr << "catwalkd: " << journal.error().sentence << '\n';
    return exit_failed;
  }
  const auto broken = journal.value().first_broken_row();
  if (!broken) {
    std::cerr << "catwalkd: " << broken.error().sentence << '\n';
    return exit_failed;
  }
  if (*broken) {
    std::cout << "the journal's chain is broken at row " << **broken << '\n';
    return exit_failed;
  }
  std::cout << "the journal's chain is whole\n";
  return exit_done;
}

int run_daemon(const Options& options) {
  auto rack = load_rack(options);
  if (!rack) return exit_bad_config;
  allow_many_descriptors();
  auto journal = open_journal(*rack);
  if (!journal) {
    spdlog::error("journal: {}", journal.error().sentence);
    return exit_failed;
  }
  auto restored = journal.value().restore(now());
  if (!restored) {
    spdlog::error("journal: {}", restored.error().sentence);
    return exit_failed;
  }
  const auto epoch = restored->epoch;

  asio::io_context io{1};
  web::PanelLoop panel;
  std::vector<NamedLine> lines;
  try {
    lines = make_lines(io, *rack, epoch);
  } catch (const std::invalid_argument& error) {
    spdlog::error("{}", error.what());
    return exit_bad_config;
  }
  rack::Core core{std::make_shared<const plan::RackPlan>(rack->plan), std::move(restored).value(),
                  now()};
  Field field{std::move(core), std::move(journal).value(), std::move(lines),
              [&io](std::function<void()> task) { asio::post(io, std::move(task)); },
              [&panel](std::function<void()> task) { panel.post(std::move(task)); }};
  auto login_key = login_key_in(rack->store.state_dir);
  if (!login_key) {
    spdlog::error("{}", login_key.error());
    return exit_failed;
  }
  auto server =
      web::Server::open(panel, field, server_options(*rack, options, std::move(login_key).value()));
  if (!server) {
    spdlog::error("{}", server.error());
    return exit_failed;
  }
  std::unique_ptr<ShowControl> show_control;
  if (rack->show_control) {
    auto opened = ShowControl::open(io, field, *rack->show_control);
    if (!opened) {
      spdlog::error("{}", opened.error());
      return exit_failed;
    }
    show_control = std::move(opened).value();
    spdlog::info("show control: OSC 1.0 over UDP, {} port {}", rack->show_control->bind.host,
                 show_control->port());
  }

  asio::signal_set end{io, SIGTERM, SIGINT};
  on_signals(end, [&io] { io.stop(); });
  asio::signal_set again{io, SIGHUP};
  const auto read_again = [&options, &rack, &field] { return reload(options, *rack, field); };
  on_signals(again, [&read_again] { (void)read_again(); });
  asio::steady_timer watchdog{io};
  if (const auto interval = watchdog_interval()) feed_watchdog(watchdog, *interval);

  asio::steady_timer look{io};
  keep_looking(look, field);
  const auto look_earlier = [&look, &field] {
    if (std::chrono::steady_clock::now() + field.until_next_look() < look.expiry())
      keep_looking(look, field);
  };
  const auto published = [&server, &show_control] {
    server.value()->snapshot_changed();
    if (show_control) show_control->snapshot_changed();
  };
  field.start(published, look_earlier, read_again);
  panel.start();
  spdlog::info("{}: epoch {}, {}://{}:{}", rack->plan.name, epoch.value,
               rack->server.tls ? "https" : "http", rack->server.host, server.value()->port());
  if (!options.socket.empty())
    spdlog::info("users of this machine: unix:{}", options.socket.string());
  tell_service_manager("READY=1");
  io.run();

  tell_service_manager("STOPPING=1");
  panel.stop();
  field.stop();
  spdlog::info("stopped; every node keeps its settings");
  return exit_done;
}

}  // namespace catwalk::shell
