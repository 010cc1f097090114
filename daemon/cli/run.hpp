// SPDX-License-Identifier: Apache-2.0
#pragma once
// One run of one command: what commands are written with. They ask the daemon, show the answer, and
// say by their exit status how it went.

#include <initializer_list>
#include <optional>
#include <ostream>
#include <string>

#include "daemon/base/result.hpp"
#include "daemon/cli/client.hpp"
#include "daemon/cli/commands.hpp"
#include "daemon/cli/wording.hpp"

namespace catwalk::cli {

struct Reply {
  int http = 0;
  Json body;  // for people: every text of it is plain
  Json whole;
  std::string etag;
};

// Discarded if it is not JSON.
Json parsed(const std::string& text);

class Run {
 public:
  Run(const Arguments& arguments, Client& client, Screen screen)
      : arguments_{arguments}, client_{client}, screen_{screen} {}

  const Arguments& arguments() const { return arguments_; }
  const std::string& word(std::size_t i) const { return arguments_.words[i]; }
  bool has(const std::string& option) const { return arguments_.has(option); }
  std::string value(const std::string& option) const { return arguments_.value(option); }
  bool as_json() const { return has("--json"); }
  bool colour() const { return screen_.colour; }
  std::ostream& out() { return screen_.out; }
  std::ostream& err() { return screen_.err; }
  Client& client() { return client_; }

  // The body with --why and --waive in it, where they were given.
  Json with_why(Json body = Json::object()) const;
  Headers without_waiting() const;  // where --no-wait was given
  // "?node=vocal-left&limit=20", of those options that were given.
  std::string query(std::initializer_list<const char*> names) const;

  // The daemon's answer, whatever its status. An error was complained of: the exit status.
  Result<Reply, int> ask_anything(const std::string& method, const std::string& path,
                                  const std::string& body = {}, const Headers& headers = {});
  // The same, of a request that was not refused.
  Result<Reply, int> ask(const std::string& method, const std::string& path,
                         const std::string& body = {}, const Headers& headers = {});

  // Each of these returns the exit status.
  int complain(int status, const std::string& sentence);
  // What went wrong, with the findings; the status says which kind it was.
  int refused(const Reply& reply);
  int act(const std::string& path, const Json& body = Json::object());
  int show_change(const Reply& reply);
  // On settings of the node that is the command's first word, without setting them.
  int show_verdict(const std::string& settings, const Json& patch);
  // The end of a switch that this asks for, with every node that is not where it should be.
  int switched(const std::string& path, const Json& body, const Headers& headers = {});
  // What is no JSON is shown as it comes.
  int document(const std::string& path);
  template <class Words>
  int show(const std::string& path, Words&& in_words) {
    const auto reply = ask("GET", path);
    if (!reply) return reply.error();
    print(*reply, in_words);
    return exit_done;
  }

  // As JSON where that was asked for, else in words.
  template <class Words>
  void print(const Reply& reply, Words&& in_words) {
    if (as_json())
      print_json(reply);
    else
      screen_.out << in_words(reply.body);
  }

 private:
  void print_json(const Reply& reply);

  const Arguments& arguments_;
  Client& client_;
  Screen screen_;
};

}  // namespace catwalk::cli
