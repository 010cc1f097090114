// SPDX-License-Identifier: Apache-2.0
#pragma once
// A program under test as a process: its standard input to write to, its output as lines so far.
// Ended by its id when the object goes.

#include <chrono>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "daemon/base/pinned.hpp"

namespace catwalk::test {

// True as soon as `condition` is; false if it never was within the time.
bool eventually(const std::function<bool()>& condition,
                std::chrono::milliseconds patience = std::chrono::seconds{20});

class Process : Pinned {
 public:
  // Output and errors go to `log`, which begins empty.
  Process(const std::filesystem::path& program, const std::vector<std::string>& arguments,
          std::filesystem::path log);
  ~Process();

  void say(const std::string& line);
  void signal(int number);
  bool running();
  // The exit status, or 128 + the signal that ended it. -1: it did not end in time.
  int wait(std::chrono::milliseconds patience = std::chrono::seconds{20});
  // kill -9, and waits for the end.
  void kill();
  // All output so far.
  std::string output() const;
  int pid() const { return pid_; }

 private:
  int pid_ = -1;
  int input_ = -1;
  int status_ = -1;
  bool ended_ = false;
  std::filesystem::path log_;
};

// A folder of its own that is gone afterwards.
class TemporaryFolder : Pinned {
 public:
  TemporaryFolder();
  ~TemporaryFolder();
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

}  // namespace catwalk::test
