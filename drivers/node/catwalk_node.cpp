// SPDX-License-Identifier: Apache-2.0
// catwalk-node: emulated antenna amplifiers as a program of their own.

#include <asio/io_context.hpp>
#include <asio/signal_set.hpp>
#include <csignal>
#include <iostream>

#include "daemon/base/licences.hpp"
#include "daemon/base/version.hpp"
#include "drivers/node/node_options.hpp"
#include "drivers/node/node_server.hpp"

int main(int count, char** words) {
  using namespace catwalk::drivers;
  constexpr int failed = 1;
  constexpr int used_wrongly = 2;

  const auto options = parse_node_options({words + 1, words + count});
  if (!options) {
    std::cerr << "catwalk-node: " << options.error() << '\n';
    return used_wrongly;
  }
  if (options->help) {
    std::cout << node_usage();
    return 0;
  }
  if (options->version) {
    std::cout << catwalk::version_line("catwalk-node");
    return 0;
  }
  if (options->licences) {
    std::cout << catwalk::licences();
    return 0;
  }
  // Whoever reads our output may go away; the nodes stay.
  std::signal(SIGPIPE, SIG_IGN);

  asio::io_context io{1};
  asio::signal_set signals{io, SIGTERM, SIGINT};
  signals.async_wait([&](const asio::error_code& error, int) {
    if (!error) io.stop();
  });
  const auto server = NodeServer::open(io, *options);
  if (!server) {
    std::cerr << "catwalk-node: " << server.error() << '\n';
    return failed;
  }
  io.run();
  const std::string& trouble = (*server)->trouble();
  if (trouble.empty()) return 0;
  std::cerr << "catwalk-node: " << trouble << '\n';
  return failed;
}
