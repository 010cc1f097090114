// SPDX-License-Identifier: Apache-2.0
#include <pwd.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <iostream>

#include "daemon/base/licences.hpp"
#include "daemon/base/version.hpp"
#include "daemon/cli/commands.hpp"

namespace {

std::string from_environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? std::string{} : std::string{value};
}

}  // namespace

int main(int argc, char** argv) {
  using namespace catwalk::cli;
  const auto fail = [](const std::string& sentence) {
    std::cerr << "catwalk: " << sentence << '\n';
    return exit_usage;
  };
  const auto arguments = parse_arguments({argv + 1, argv + argc});
  if (!arguments) return fail(arguments.error());
  if (arguments->has("--version")) {
    std::cout << catwalk::version_line("catwalk");
    return exit_done;
  }
  if (arguments->has("--licences")) {
    std::cout << catwalk::licences();
    return exit_done;
  }
  if (arguments->has("--help")) {
    std::cout << (arguments->command == nullptr ? help_text() : help_text(*arguments->command));
    return exit_done;
  }

  auto server = arguments->value("--server");
  if (server.empty()) server = from_environment("CATWALK_SERVER");
  if (server.empty())
    server = ::access(socket_of_the_service, W_OK) == 0
                 ? "unix:" + std::string{socket_of_the_service}
                 : "http://127.0.0.1:8470";
  auto parsed = parse_address(server);
  if (!parsed) return fail(parsed.error());
  auto address = std::move(parsed).value();
  address.authority = arguments->value("--authority");
  if (address.authority.empty()) address.authority = from_environment("CATWALK_AUTHORITY");

  Headers headers;
  if (const auto* user = ::getpwuid(::getuid()); user != nullptr)
    headers.emplace_back("Catwalk-User", user->pw_name);
  auto token = from_environment("CATWALK_TOKEN");
  if (arguments->has("--token-file")) {
    std::ifstream file{arguments->value("--token-file")};
    if (!(file >> token))
      return fail("no token can be read from " + arguments->value("--token-file"));
  }
  if (!token.empty()) headers.emplace_back("Authorization", "Bearer " + token);

  const bool terminal = ::isatty(STDOUT_FILENO) == 1 && from_environment("NO_COLOR").empty();
  Client client{std::move(address), std::move(headers)};
  // Whoever watches sees that something is going on; of watch nothing is expected to end.
  if (::isatty(STDERR_FILENO) == 1 && arguments->command->name != "watch")
    client.while_waiting([](std::chrono::seconds waited) {
      std::cerr << "catwalk: no answer yet, " << waited.count() << " s" << std::endl;
    });
  return run_command(*arguments, client, {std::cout, std::cerr, terminal});
}
