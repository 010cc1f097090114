// SPDX-License-Identifier: Apache-2.0
#pragma once
// The whole of it for a test: a rack file, processes that behave as nodes on a pseudo-terminal and
// on a UDP port, the daemon, and a client to it. Loopback only, ports chosen by the system.

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "daemon/cli/client.hpp"
#include "tests/support/process.hpp"

namespace catwalk::test {

using Json = nlohmann::ordered_json;

// What a request came to.
struct Said {
  int status = 0;
  Json body;
  std::string etag;
  std::string text(const char* member) const {
    const auto found = body.find(member);
    return found != body.end() && found->is_string() ? found->get<std::string>() : std::string{};
  }
};

class Rig {
 public:
  // Nodes bus-1, bus-2 on the serial line "bus" and net-1, net-2 on the UDP line "net"; receiver
  // "vocals" hears bus-1 and net-1. A node bus-9 sits on the serial line without being in the rack
  // file. `on_return` is that of every node.
  explicit Rig(const std::string& on_return = "hold");

  // A segment with one microphone, in MHz, and an in-ear transmitter at 650 MHz.
  static Json segment(const std::string& name, double microphone,
                      const Json& settings = Json::object());
  // Another show, or a rack file with something else in it; before the daemon is started, or to be
  // read again by it.
  void write_show(const Json& show);
  void edit_rack(const std::function<void(Json&)>& edit);
  // One node more, "far-1", on a UDP line of its own, "far", at this port of the loopback.
  void add_far_node(const std::string& uid, std::uint16_t port);

  void start_bus();
  void start_net();
  // Starts the daemon and waits until it answers; `nodes`: until they have all been read, too.
  void start_daemon(bool nodes = true);
  std::string daemon_url() const;
  std::uint16_t daemon_port() const;

  Said get(const std::string& path);
  Said send(const std::string& method, const std::string& path, const Json& body = Json::object(),
            const cli::Headers& headers = {});
  // Reads the revision and changes the settings from it.
  Said set(const std::string& node, const Json& patch, const cli::Headers& headers = {});
  // A gain that nothing is against is set, and read back. Where others take all that the machine
  // has, an emulated node may get no time for as long as a real one would be silent: then it is
  // asked again, which is counted.
  bool settles(const std::string& node, double gain_db, std::uint64_t* again = nullptr);
  Json node(const std::string& name);
  bool is(const std::string& name, const char* member, const std::string& value);
  // "drifted bus-1", in the order raised; those that hold now.
  std::vector<std::string> active_alarms();
  bool has_alarm(const std::string& alarm);
  // What `catwalk` with these words does: its exit status, output and errors.
  struct Ran {
    int status = 0;
    std::string output;
  };
  Ran run(std::vector<std::string> words);

  std::filesystem::path file(const std::string& name) const { return folder_.path() / name; }
  static std::string uid(const std::string& node);

  std::unique_ptr<Process> bus;
  std::unique_ptr<Process> net;
  std::unique_ptr<Process> daemon;

 private:
  void write_files(const std::string& on_return);

  TemporaryFolder folder_;
  std::string net_port_ = "0";
  std::string port_ = "0";
  std::optional<cli::Client> client_;
};

}  // namespace catwalk::test
