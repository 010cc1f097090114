// SPDX-License-Identifier: Apache-2.0
#include "web/server/wire/process_figures.hpp"

#include <sys/resource.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>

namespace catwalk::web {
namespace {

// proc_pid_stat(5): behind the name, which may hold anything, the fields from the third on.
struct StatFields {
  double user = 0, system = 0;  // ticks
  double threads = 0;
  double started = 0;  // ticks since the machine was started
  double virtual_bytes = 0;
  double resident_pages = 0;
};

std::optional<StatFields> read_stat() {
  std::ifstream file{"/proc/self/stat"};
  std::string text;
  if (!std::getline(file, text)) return std::nullopt;
  const auto name_ends = text.rfind(')');
  if (name_ends == std::string::npos) return std::nullopt;
  std::istringstream rest{text.substr(name_ends + 1)};
  StatFields fields;
  constexpr int first = 3;
  constexpr int last = 24;
  for (int number = first; number <= last; ++number) {
    std::string field;
    if (!(rest >> field)) return std::nullopt;
    double* const into = number == 14   ? &fields.user
                         : number == 15 ? &fields.system
                         : number == 20 ? &fields.threads
                         : number == 22 ? &fields.started
                         : number == 23 ? &fields.virtual_bytes
                         : number == 24 ? &fields.resident_pages
                                        : nullptr;
    if (into != nullptr) *into = std::strtod(field.c_str(), nullptr);
  }
  return fields;
}

// Unix time at which the machine was started, seconds: it may be asleep in between.
double machine_started() {
  timespec since{};
  ::clock_gettime(CLOCK_BOOTTIME, &since);
  const std::chrono::duration<double> now = std::chrono::system_clock::now().time_since_epoch();
  return now.count() - static_cast<double>(since.tv_sec) - static_cast<double>(since.tv_nsec) / 1e9;
}

}  // namespace

std::optional<ProcessFigures> process_figures() {
  const auto stat = read_stat();
  if (!stat) return std::nullopt;
  const auto ticks = static_cast<double>(::sysconf(_SC_CLK_TCK));
  ProcessFigures figures;
  figures.cpu_seconds = (stat->user + stat->system) / ticks;
  figures.resident_bytes = stat->resident_pages * static_cast<double>(::sysconf(_SC_PAGESIZE));
  figures.virtual_bytes = stat->virtual_bytes;
  figures.threads = stat->threads;
  // Worked out once, so that it stays the same whatever becomes of the clock.
  static const double started = machine_started() + stat->started / ticks;
  figures.started = started;
  std::error_code error;
  for (auto entry = std::filesystem::directory_iterator{"/proc/self/fd", error};
       !error && entry != std::filesystem::directory_iterator{}; entry.increment(error))
    ++figures.open_descriptors;
  rlimit limit{};
  if (::getrlimit(RLIMIT_NOFILE, &limit) == 0)
    figures.most_descriptors = static_cast<double>(limit.rlim_cur);
  return figures;
}

}  // namespace catwalk::web
