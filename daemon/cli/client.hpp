// SPDX-License-Identifier: Apache-2.0
#pragma once
// HTTP and WebSocket to the daemon, as little as the command line needs. Boost stays behind it.

#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "daemon/base/result.hpp"
#include "daemon/cli/arguments.hpp"

namespace catwalk::cli {

using Headers = std::vector<std::pair<std::string, std::string>>;

// A name as one part of a target, whatever is in it.
std::string escaped(const std::string& text);

struct ClientResponse {
  int status = 0;
  std::map<std::string, std::string> headers;  // names in lower case
  std::string body;
};

// Keeps one connection and opens it anew when the daemon closed it. Errors are sentences.
class Client {
 public:
  // `headers` go with every request.
  Client(Address address, Headers headers,
         std::chrono::milliseconds patience = std::chrono::seconds{60});
  Client(Client&&) noexcept;
  Client& operator=(Client&&) noexcept;
  ~Client();

  Result<ClientResponse, std::string> request(const std::string& method, const std::string& target,
                                              const std::string& body = {},
                                              const Headers& headers = {});

  // Told each second that an answer takes, from the second one on.
  void while_waiting(std::function<void(std::chrono::seconds)> told);

  // Opens the WebSocket at `target` and hands over each message until `take` says false or the
  // connection ends; then the sentence why. An empty sentence: `take` said false.
  std::string listen(const std::string& target, const std::function<bool(std::string)>& take);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace catwalk::cli
