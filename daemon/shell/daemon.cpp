// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/daemon.hpp"

#include <spdlog/spdlog.h>
#include <sys/resource.h>

#include <asio.hpp>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <random>

#include "config/load.hpp"
#include "daemon/rack/rules/carrier_rules.hpp"
#include "daemon/shell/field.hpp"
#include "daemon/shell/journal_tasks.hpp"
#include "daemon/shell/lines.hpp"
#include "daemon/shell/login_key.hpp"
#include "daemon/shell/service_manager.hpp"
#include "daemon/shell/show_control.hpp"
#include "daemon/shell/wall_clock.hpp"
#include "daemon/store/open_store.hpp"
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

std::vector<web::Token> tokens_of(const config::RackFile& rack) {
  std::vector<web::Token> tokens;
  for (const auto& token : rack.tokens)
    tokens.push_back({token.name, role_of(token.role), token.sha256});
  return tokens;
}

std::vector<web::LocalUser> local_users_of(const config::RackFile& rack) {
  std::vector<web::LocalUser> users;
  for (const auto& user : rack.local_users) users.push_back({user.name, role_of(user.role)});
  return users;
}

// Null: the rack file has none.
Result<std::shared_ptr<const web::Tls>, std::string> read_tls(const config::RackFile& rack) {
  const auto& files = rack.server.tls;
  if (!files) return std::shared_ptr<const web::Tls>{};
  return web::Tls::read({files->certificate.string(), files->private_key.string()});
}

web::ServerOptions server_options(const config::RackFile& rack, const Options& options,
                                  std::string login_key, std::shared_ptr<const web::Tls> tls) {
  web::ServerOptions server;
  server.host = rack.server.host;
  server.port = options.port.value_or(rack.server.port);
  server.socket = options.socket;
  const bool v6 = server.host.find(':') != std::string::npos;
  server.doors.hosts = {"localhost", "127.0.0.1", "[::1]",
                        v6 ? '[' + server.host + ']' : server.host};
  for (const auto& name : rack.server.allowed_hosts) server.doors.hosts.push_back(name);
  server.doors.tokens = tokens_of(rack);
  server.doors.local_users = local_users_of(rack);
  server.doors.secure = rack.server.tls || rack.server.behind_tls_proxy;
  server.doors.without_tls_because = rack.server.without_tls_because;
  server.tls = std::move(tls);
  server.login_lasts = rack.server.login_lasts;
  server.login_key = std::move(login_key);
  return server;
}

// One that is made is for us, and for our group to read. One that was there is its owner's affair,
// which is not to say that nothing is said. The trouble if there is none in the end.
std::optional<store::StoreError> make_state_folder(const std::filesystem::path& folder) {
  using std::filesystem::perms;
  std::error_code error;
  const bool made = std::filesystem::create_directories(folder, error);
  if (error) return store::refused_by_system("create " + folder.string(), error);
  if (made) std::filesystem::permissions(folder, perms{0750}, error);
  if (error) return store::refused_by_system("close " + folder.string() + " to others", error);
  const auto mode = std::filesystem::status(folder, error).permissions();
  if ((mode & (perms::group_write | perms::others_write)) != perms::none)
    spdlog::warn("{} can be written by others, who could put another journal there",
                 folder.string());
  else if ((mode & perms::others_all) != perms::none)
    spdlog::warn("{} is open to others; mode 0750 is enough", folder.string());
  return std::nullopt;
}

// Drawn anew at each start, so that two machines that start at once have different ones.
rack::EpochShare share_of_epochs() {
  return static_cast<std::uint8_t>(std::random_device{}() & 63U);
}

// Of a disk that has failed: the rack runs on from what its nodes show, with a journal that does
// not last. What somebody has to put right in the installation ends the daemon instead.
Result<store::OpenedStore, store::StoreError> without_its_disk(const store::StoreError& trouble) {
  if (trouble.kind != store::StoreError::Kind::failed) return Failure{trouble};
  std::error_code error;
  auto folder = (std::filesystem::temp_directory_path(error) / "catwalkd-XXXXXX").string();
  if (error || ::mkdtemp(folder.data()) == nullptr) return Failure{trouble};
  return store::open_stopgap(folder, trouble, now(), share_of_epochs());
}

Result<store::OpenedStore, store::StoreError> open_store_of(const config::RackFile& rack) {
  if (const auto trouble = make_state_folder(rack.store.state_dir))
    return without_its_disk(*trouble);
  auto opened = store::open_store(journal_file(rack), now(), share_of_epochs());
  return opened ? std::move(opened) : without_its_disk(opened.error());
}

config::LineSetup without_nodes(config::LineSetup line) {
  std::visit([](auto& one) { one.nodes.clear(); }, line);
  return line;
}

// What is opened at start can only change with a restart; names the first such part that differs.
// Another device may hang in a place, at another address, with another key.
std::optional<std::string> fixed_part_that_differs(const config::RackFile& running,
                                                   const config::RackFile& read) {
  const auto same_place = [](const plan::Node& a, const plan::Node& b) {
    return a.line == b.line && a.name == b.name;
  };
  const auto same_line = [](const config::LineSetup& a, const config::LineSetup& b) {
    return without_nodes(a) == without_nodes(b);
  };
  if (!std::ranges::equal(running.lines, read.lines, same_line)) return "lines";
  if (!std::ranges::equal(running.plan.nodes, read.plan.nodes, same_place)) return "nodes";
  if (running.server != read.server) return "server";
  if (running.store.state_dir != read.store.state_dir) return "state_dir";
  if (running.show_control != read.show_control) return "show_control";
  return std::nullopt;
}

// Of lines whose nodes are others, or elsewhere.
std::vector<plan::LineName> lines_that_differ(const config::RackFile& running,
                                              const config::RackFile& read) {
  std::vector<plan::LineName> names;
  for (std::size_t i = 0; i < read.lines.size(); ++i)
    if (running.lines[i] != read.lines[i])
      names.push_back(std::visit([](const auto& one) { return one.name; }, read.lines[i]));
  return names;
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

// The certificate that is shown, and what has to be said of it.
class Certificate {
 public:
  Certificate(asio::io_context& io, Field& field) : again_{io}, field_{field} {}

  // From now on this one, looked at once an hour. Null: there is none.
  void is(std::shared_ptr<const web::Tls> tls) {
    tls_ = std::move(tls);
    look();
  }

 private:
  void look() {
    const auto trouble =
        tls_ ? web::trouble_of_certificate(tls_->begins(), tls_->ends(), now()) : std::string{};
    if (!trouble.empty()) spdlog::warn("{}", trouble);
    field_.on(rack::CertificateJudged{trouble});
    again_.expires_after(std::chrono::hours{1});
    again_.async_wait([this](std::error_code stopped) {
      if (!stopped) look();
    });
  }

  asio::steady_timer again_;
  Field& field_;
  std::shared_ptr<const web::Tls> tls_;
};

// What a reload takes part in.
struct Running {
  asio::io_context& io;
  const Options& options;
  config::RackFile& rack;
  Field& field;
  web::Server& server;
  Certificate& certificate;
};

// A line that is opened anew counts its datagrams from the beginning, which nodes only take from a
// controller that speaks under a higher epoch than before.
void reopen(const Running& running, const std::vector<plan::LineName>& lines,
            std::vector<config::LineSetup> setups) {
  std::string names;
  for (const auto& name : lines) names += (names.empty() ? "" : ", ") + name.text;
  running.field.ask_here(
      rack::TakeOverRequested{0, "reload", "other nodes on " + names, true},
      [&io = running.io, &rack = running.rack, &field = running.field, lines, names,
       setups = std::move(setups)](const rack::Answer& answer) {
        if (answer.outcome != rack::Outcome::done)
          return spdlog::error("reload: the lines {} stay as they were until the next reload: {}",
                               names, answer.detail);
        rack.lines = setups;  // what the next reload compares with
        const Voice voice{field.snapshot()->epoch, field.snapshot()->spoken, true};
        for (const auto& name : lines) field.replace(make_line(io, rack, name, voice));
        spdlog::info("reload: opened anew: {}", names);
      });
}

// None: the files are in force. Else what is wrong, and the old ones stay, all of them.
std::vector<std::string> reload(const Running& running, const std::string& who) {
  auto& field = running.field;
  tell_service_manager("RELOADING=1");
  auto loaded = load(running.options);
  std::shared_ptr<const web::Tls> tls;
  std::vector<std::string> troubles;
  for (const auto& one : loaded.problems) troubles.push_back(config::to_text(one));
  if (loaded.rack) {
    if (const auto part = fixed_part_that_differs(running.rack, *loaded.rack))
      troubles.push_back("/" + *part + " can only change with a restart");
    const auto snapshot = field.snapshot();
    if (snapshot->lock && !snapshot->order.reload_armed)
      troubles.push_back(
          "the rack is locked for the show: unlock it, or arm the reload (catwalk arm --reload)");
    if (snapshot->switching && !rack::is_end(snapshot->switching->stage))
      troubles.push_back("a switch to \"" + snapshot->switching->entered.text +
                         "\" is under way; try again when it has ended");
    for (const auto& node : snapshot->nodes)
      if (node->agreement == rack::Agreement::changing &&
          !(node->change && node->change->stage == rack::ChangeStage::interrupted))
        troubles.push_back("a change of " + node->name.text +
                           " is under way; try again when it has ended");
    const auto other_nodes = lines_that_differ(running.rack, *loaded.rack);
    if (!other_nodes.empty() && snapshot->control != rack::Control::ours)
      troubles.push_back("line " + other_nodes.front().text +
                         " has other nodes, and this daemon only watches: take over first");
    const auto& active = snapshot->segment;
    if (loaded.rack->plan.find(active) == nullptr)
      troubles.push_back("the active segment \"" + active.text + "\" is not in the show any more");
    auto read = read_tls(*loaded.rack);
    if (read)
      tls = std::move(read).value();
    else
      troubles.push_back(read.error());
  }
  for (const auto& trouble : troubles) spdlog::error("reload: refused: {}", trouble);
  if (troubles.empty()) {
    running.server.replace_doors(tokens_of(*loaded.rack), local_users_of(*loaded.rack), tls);
    running.certificate.is(std::move(tls));
    const auto lines = lines_that_differ(running.rack, *loaded.rack);
    running.rack.plan = loaded.rack->plan;
    field.on(rack::PlanReplaced{
        std::make_shared<const plan::RackPlan>(std::move(loaded.rack->plan)), who});
    if (!lines.empty()) reopen(running, lines, std::move(loaded.rack->lines));
    spdlog::info("reload: done");
  }
  tell_service_manager("READY=1");
  return troubles;
}

// Every connection is a descriptor: web::PlaceLimits has more than the 1024 that a shell allows by
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

}  // namespace

std::optional<config::RackFile> load_rack(const Options& options) {
  auto loaded = load(options);
  config::print(std::cerr, loaded.problems);
  return std::move(loaded.rack);
}

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
    return exit_failed;
  }
  auto store = std::move(opened).value();
  if (!store.set_aside.empty()) spdlog::error("journal: {}", store.set_aside);
  const auto epoch = store.restored.epoch;

  asio::io_context io{1};
  web::PanelLoop panel{
      [](const std::string& what) { spdlog::error("a fault of this program: {}", what); }};
  std::vector<NamedLine> lines;
  try {
    lines = make_lines(io, *rack, {epoch, store.restored.spoken});
  } catch (const std::invalid_argument& error) {
    spdlog::error("{}", error.what());
    return exit_bad_config;
  }
  rack::Core core{std::make_shared<const plan::RackPlan>(rack->plan), std::move(store.restored),
                  now(), lines_that_ask(*rack)};
  Field field{std::move(core),
              std::move(store.journal),
              store.set_aside,
              std::move(lines),
              [&io](std::function<void()> task) { asio::post(io, std::move(task)); },
              [&panel](std::function<void()> task) { panel.post(std::move(task)); }};
  auto login_key = login_key_in(rack->store.state_dir);
  if (!login_key) {
    spdlog::error("{}", login_key.error());
    return exit_failed;
  }
  if (!login_key->note.empty()) spdlog::error("{}", login_key->note);
  auto tls = read_tls(*rack);
  if (!tls) {
    spdlog::error("{}", tls.error());
    return exit_failed;
  }
  auto server =
      web::Server::open(panel, field, server_options(*rack, options, login_key->key, tls.value()));
  if (!server) {
    spdlog::error("{}", server.error());
    return exit_failed;
  }
  std::unique_ptr<ShowControl> show_control;
  if (rack->show_control) {
    auto door = ShowControl::open(io, field, *rack->show_control);
    if (!door) {
      spdlog::error("{}", door.error());
      return exit_failed;
    }
    show_control = std::move(door).value();
    spdlog::info("show control: OSC 1.0 over UDP, {} port {}", rack->show_control->bind.host,
                 show_control->port());
  }

  asio::signal_set end{io, SIGTERM, SIGINT};
  on_signals(end, [&io] { io.stop(); });
  asio::signal_set again{io, SIGHUP};
  Certificate certificate{io, field};
  const Running running{io, options, *rack, field, *server.value(), certificate};
  const auto read_again = [&running](const std::string& who) { return reload(running, who); };
  on_signals(again, [&read_again] { (void)read_again("SIGHUP"); });
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
  certificate.is(std::move(tls).value());
  panel.start();
  spdlog::info("{}: epoch {}, {}://{}:{}", rack->plan.name, epoch.value,
               rack->server.tls ? "https" : "http", rack->server.host, server.value()->port());
  if (!options.socket.empty())
    spdlog::info("users of this machine: unix:{}", options.socket.string());
  say_what_may_leave(*rack);
  tell_service_manager("READY=1");
  io.run();

  tell_service_manager("STOPPING=1");
  panel.stop();
  field.stop();
  spdlog::info("stopped; every node keeps its settings");
  return exit_done;
}

}  // namespace catwalk::shell
