// SPDX-License-Identifier: Apache-2.0
#include <csignal>
#include <iostream>
#include <string>
#include <vector>

#include "daemon/base/licences.hpp"
#include "daemon/base/version.hpp"
#include "daemon/shell/daemon.hpp"
#include "daemon/shell/journal_tasks.hpp"
#include "daemon/shell/log.hpp"

int main(int argc, char** argv) {
  using namespace catwalk::shell;
  auto options = parse_options({argv + 1, argv + argc});
  if (!options) {
    std::cerr << "catwalkd: " << options.error() << '\n';
    return exit_usage;
  }
  log_to_standard_error(options->log_level);

  switch (options->task) {
    case Options::Task::help:
      std::cout << usage();
      return exit_done;
    case Options::Task::version:
      std::cout << catwalk::version_line("catwalkd");
      return exit_done;
    case Options::Task::licences:
      std::cout << catwalk::licences();
      return exit_done;
    case Options::Task::check:
      return check_files(*options);
    case Options::Task::verify_journal:
      return verify_journal(*options);
    case Options::Task::export_journal:
      return export_journal(*options);
    case Options::Task::run:
      // Whoever reads our log may go away; the show goes on.
      std::signal(SIGPIPE, SIG_IGN);
      options.value().version = catwalk::version().number;
      options.value().commit = catwalk::version().commit;
      return run_daemon(*options);
  }
}
