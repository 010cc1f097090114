// SPDX-License-Identifier: Apache-2.0
// The Unix socket: the system says who calls, and no token is asked for.
#include <doctest/doctest.h>
#include <pwd.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <fstream>

#include "daemon/base/sha256.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk;
using namespace catwalk::test;
namespace fs = std::filesystem;

namespace {

// A rack that asks everyone for a token, but for its own machine's users.
struct LocalRack {
  Rig rig;
  fs::path socket = rig.file("rack.sock");
  std::unique_ptr<Process> daemon;

  LocalRack() {
    rig.edit_rack([](Json& rack) {
      rack["tokens"] = {
          {{"name", "ana"}, {"role", "engineer"}, {"sha256", sha256_hex("ana-has-this")}}};
      rack["local_users"] = {{{"name", "nobody"}, {"role", "watch"}}};
    });
  }
  // False: it ended instead.
  bool start() {
    daemon = std::make_unique<Process>(
        CATWALKD,
        std::vector<std::string>{"--port", "0", "--socket", socket.string(),
                                 rig.file("rack.json").string()},
        rig.file("daemon.log"));
    return eventually([&] {
             return !daemon->running() || daemon->output().find("unix:") != std::string::npos;
           }) &&
           daemon->running();
  }
  Rig::Ran run(const std::vector<std::string>& words) const {
    std::vector<std::string> all{"--server", "unix:" + socket.string()};
    all.insert(all.end(), words.begin(), words.end());
    return finish(CATWALK, all);
  }
  // As the user "nobody", which only root can become.
  Rig::Ran run_as_nobody(const std::vector<std::string>& words) const {
    std::vector<std::string> all{"--reuid", "nobody",         "--regid",
                                 "nogroup", "--clear-groups", "--",
                                 CATWALK,   "--server",       "unix:" + socket.string()};
    all.insert(all.end(), words.begin(), words.end());
    return finish("/usr/bin/setpriv", all);
  }

 private:
  Rig::Ran finish(const fs::path& program, const std::vector<std::string>& words) const {
    Process process{program, words, rig.file("cli.log")};
    const int status = process.wait();
    return {status, process.output()};
  }
};

std::string own_name() { return ::getpwuid(::getuid())->pw_name; }

}  // namespace

TEST_CASE("whom the daemon runs as is an engineer on its socket, by name, and nobody is over TCP") {
  LocalRack rack;
  REQUIRE(rack.start());
  CHECK((fs::status(rack.socket).permissions() & fs::perms::all) == fs::perms{0666});

  const auto reloaded = rack.run({"reload"});
  CHECK(reloaded.output.find("401") == std::string::npos);
  CHECK(reloaded.status == 0);
  CHECK(rack.run({"lock", "--why", "doors open"}).status == 0);
  const auto told = rack.run({"journal", "--who", own_name()});
  CHECK(told.status == 0);
  CHECK(told.output.find("doors open") != std::string::npos);

  const auto log = rack.daemon->output();
  const auto at = log.find("http://");
  const auto url = log.substr(at, log.find('\n', at) - at);
  Process over_tcp{CATWALK, {"--server", url, "nodes"}, rack.rig.file("tcp.log")};
  CHECK(over_tcp.wait() != 0);
  CHECK(over_tcp.output().find("token") != std::string::npos);
}

TEST_CASE("another user of the machine is what the rack file says, and no more") {
  if (::getuid() != 0) {
    MESSAGE("skipped: only root can become another user");
    return;
  }
  LocalRack rack;
  REQUIRE(rack.start());
  fs::permissions(rack.socket.parent_path(), fs::perms{0711});

  const auto seen = rack.run_as_nobody({"nodes"});
  CHECK(seen.output.find("bus-1") != std::string::npos);
  CHECK(seen.status == 0);
  const auto tried = rack.run_as_nobody({"reload"});
  CHECK(tried.status != 0);
  CHECK(tried.output.find("engineer") != std::string::npos);

  rack.rig.edit_rack([](Json& file) { file.erase("local_users"); });
  rack.daemon->signal(SIGTERM);
  CHECK(rack.daemon->wait() == 0);
  REQUIRE(rack.start());
  const auto unlisted = rack.run_as_nobody({"nodes"});
  CHECK(unlisted.status != 0);
  CHECK(unlisted.output.find("\"nobody\" is not among the local_users") != std::string::npos);
}

TEST_CASE(
    "a socket that a killed daemon left is replaced, one that is in use or something else is not") {
  LocalRack rack;
  REQUIRE(rack.start());
  rack.daemon->kill();
  REQUIRE(fs::is_socket(rack.socket));
  REQUIRE(rack.start());
  CHECK(rack.run({"nodes"}).status == 0);
  rack.daemon->signal(SIGTERM);
  CHECK(rack.daemon->wait() == 0);
  CHECK_FALSE(fs::exists(rack.socket));

  std::ofstream{rack.socket} << "letters";
  CHECK_FALSE(rack.start());
  CHECK(rack.daemon->output().find(rack.socket.string() + " is there, and is no socket") !=
        std::string::npos);
  CHECK(fs::file_size(rack.socket) == 7);
  fs::remove(rack.socket);

  const int other = ::socket(AF_UNIX, SOCK_STREAM, 0);
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  rack.socket.string().copy(address.sun_path, sizeof address.sun_path - 1);
  REQUIRE(::bind(other, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
  REQUIRE(::listen(other, 1) == 0);
  CHECK_FALSE(rack.start());
  CHECK(rack.daemon->output().find("another program listens on " + rack.socket.string()) !=
        std::string::npos);
  ::close(other);
}
