// SPDX-License-Identifier: Apache-2.0
#pragma once
// The panel side: HTTP and WebSocket over Boost.Beast, on one thread of its own. Boost stays behind
// this header.

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/base/result.hpp"
#include "web/server/api/gate.hpp"
#include "web/server/doors/access.hpp"
#include "web/server/doors/seats.hpp"
#include "web/server/wire/tls.hpp"

namespace catwalk::web {

// The panel side's event loop. Outlives everything that runs on it.
class PanelLoop {
 public:
  // A task that throws ends by itself, and nothing else does: that is a fault of this program,
  // which `told` hears of on the panel thread.
  using Fault = std::function<void(const std::string& what)>;
  explicit PanelLoop(Fault told = [](const std::string&) {});
  PanelLoop(const PanelLoop&) = delete;
  PanelLoop& operator=(const PanelLoop&) = delete;
  ~PanelLoop();

  // Runs `task` on the panel thread, soon. From any thread.
  void post(std::function<void()> task);
  // Begins to run; before that, what is posted waits.
  void start();
  // Ends the thread; what still waits is dropped. Called by the destructor too.
  void stop();

  struct Context;
  Context& context() { return *context_; }

 private:
  std::unique_ptr<Context> context_;
};

struct ServerOptions {
  std::string host = "127.0.0.1";
  std::uint16_t port = 0;  // 0: any free one
  // Listens there too, for users of this machine, who are known by their name; empty: does not.
  std::filesystem::path socket;
  Doors doors;
  std::shared_ptr<const Tls> tls;  // null: plain HTTP
  std::string login_key;           // at least 32 random bytes, if there are tokens
  std::chrono::seconds login_lasts = std::chrono::hours{16};
  SeatLimits seats;
  std::size_t largest_body = 65'536;            // bytes
  std::size_t largest_header = 8'192;           // bytes
  std::size_t largest_piece = 16'384;           // bytes; of what can only be read whole: a header,
                                                // that of a chunk with its extensions, a trailer
  std::size_t largest_request = 262'144;        // bytes, with all that surrounds its chunks
  std::size_t sent_at_once = 262'144;           // bytes of an answer, to be taken within `idle`
  std::size_t most_sent = 33'554'432;           // bytes that answers under way take together, of
                                                // each of the parts of Outbox
  std::size_t most_sent_to_one = 25'165'824;    // and those to one token
  std::chrono::milliseconds idle{30'000};       // until a request is whole, or a piece taken
  std::chrono::milliseconds feed_interval{25};  // changes closer than this travel together
  std::chrono::milliseconds readings_together{1'000};  // new figures of nodes that are well
  std::size_t panel_queue = 64;                        // messages a slow panel may be behind
  std::size_t panel_waits = 2'097'152;                 // and bytes
  std::string version, commit;                         // of this program, for /metrics
  std::size_t most_long_work = 8;  // questions that wait behind one that takes long
};

class Server {
 public:
  // Listens at once. Fails with a sentence if the address cannot be had.
  static Result<std::unique_ptr<Server>, std::string> open(PanelLoop& loop, Gate& gate,
                                                           ServerOptions options);
  virtual ~Server() = default;

  virtual std::uint16_t port() const = 0;
  // From now on these hold. Whoever came by what is not among them is turned out; connections that
  // come are shown this certificate (null: it stays). From any thread.
  virtual void replace_doors(std::vector<Token> tokens, std::vector<LocalUser> local_users,
                             std::shared_ptr<const Tls> tls) = 0;
  // The files were read again, and are in force or not: for /metrics. From any thread.
  virtual void count_reload(bool taken) = 0;
  // A new snapshot is there. From any thread; cheap.
  virtual void snapshot_changed() = 0;
  // Lets nobody in any more, and closes the live feed of everybody with 1001; comes back when they
  // have heard it, or that has taken too long. From any other thread than the panel's, once.
  virtual void take_leave(std::chrono::milliseconds at_most) = 0;
};

}  // namespace catwalk::web
