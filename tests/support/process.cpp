// SPDX-License-Identifier: Apache-2.0
#include "tests/support/process.hpp"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <thread>

extern char** environ;

namespace catwalk::test {

bool eventually(const std::function<bool()>& condition, std::chrono::milliseconds patience) {
  const auto deadline = std::chrono::steady_clock::now() + patience;
  for (;;) {
    if (condition()) return true;
    if (std::chrono::steady_clock::now() > deadline) return false;
    std::this_thread::sleep_for(std::chrono::milliseconds{10});
  }
}

Process::Process(const std::filesystem::path& program, const std::vector<std::string>& arguments,
                 std::filesystem::path log)
    : log_{std::move(log)} {
  int ends[2] = {-1, -1};
  if (::pipe2(ends, O_CLOEXEC) != 0) throw std::runtime_error{"no pipe"};
  const int out = ::open(log_.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);

  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, ends[0], STDIN_FILENO);
  posix_spawn_file_actions_adddup2(&actions, out, STDOUT_FILENO);
  posix_spawn_file_actions_adddup2(&actions, out, STDERR_FILENO);
  std::vector<std::string> words{program.string()};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  for (auto& word : words) argv.push_back(word.data());
  argv.push_back(nullptr);
  const int failed = ::posix_spawn(&pid_, program.c_str(), &actions, nullptr, argv.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  ::close(out);
  ::close(ends[0]);
  input_ = ends[1];
  if (failed != 0) throw std::runtime_error{"cannot start " + program.string()};
}

Process::~Process() {
  kill();
  ::close(input_);
}

void Process::say(const std::string& line) {
  const auto text = line + '\n';
  if (::write(input_, text.data(), text.size()) != static_cast<ssize_t>(text.size()))
    throw std::runtime_error{"the process does not read"};
}

void Process::signal(int number) {
  if (running()) ::kill(pid_, number);
}

bool Process::running() {
  if (ended_) return false;
  int status = 0;
  if (::waitpid(pid_, &status, WNOHANG) != pid_) return true;
  ended_ = true;
  status_ = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  return false;
}

int Process::wait(std::chrono::milliseconds patience) {
  return eventually([this] { return !running(); }, patience) ? status_ : -1;
}

void Process::kill() {
  signal(SIGKILL);
  wait();
}

std::string Process::output() const {
  std::ifstream file{log_};
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

TemporaryFolder::TemporaryFolder() {
  auto pattern = (std::filesystem::temp_directory_path() / "catwalk-test-XXXXXX").string();
  if (::mkdtemp(pattern.data()) == nullptr) throw std::runtime_error{"no temporary folder"};
  path_ = pattern;
}

TemporaryFolder::~TemporaryFolder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

}  // namespace catwalk::test
