// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/arguments.hpp"

#include <doctest/doctest.h>

#include <algorithm>

using namespace catwalk::cli;
using Words = std::vector<std::string>;

TEST_CASE("options stand anywhere among the words of a command") {
  for (const auto& words : {Words{"set", "left", "gain=6", "--why", "long cable", "--json"},
                            Words{"--json", "set", "--why", "long cable", "left", "gain=6"}}) {
    const auto arguments = parse_arguments(words);
    REQUIRE(arguments);
    CHECK(arguments->command->name == "set");
    CHECK(arguments->words == Words{"left", "gain=6"});
    CHECK(arguments->value("--why") == "long cable");
    CHECK(arguments->has("--json"));
    CHECK_FALSE(arguments->has("--no-wait"));
  }
}

TEST_CASE("a value may look like an option, and help needs no command") {
  CHECK(parse_arguments({"lock", "--why", "--json"})->value("--why") == "--json");
  CHECK(parse_arguments({"--help"})->command == nullptr);
  CHECK(parse_arguments({"set", "--help"})->command->name == "set");
  CHECK(parse_arguments({"take-over", "--help"})->has("--help"));
  CHECK(parse_arguments({"--version"})->has("--version"));
}

TEST_CASE("bad words are told by name, with what is allowed") {
  struct Row {
    Words words;
    std::string error;
  };
  for (const auto& [words, error] : std::vector<Row>{
           {{}, "a command is needed; catwalk --help lists them"},
           {{"--json"}, "a command is needed; catwalk --help lists them"},
           {{"change"}, "there is no command \"change\"; catwalk --help lists them"},
           {{"Set", "left"}, "there is no command \"Set\"; catwalk --help lists them"},
           {{"nodes", "--jsno"}, "there is no option \"--jsno\"; catwalk --help lists them"},
           {{"nodes", "--json=1"}, "there is no option \"--json=1\"; catwalk --help lists them"},
           {{"lock", "--why"}, "--why needs a value"},
           {{"lock", "--why", ""}, "--why needs a value that is not empty"},
           {{"nodes", "--server"}, "--server needs a value"},
           {{"show"}, "\"show\" needs more words: catwalk show NODE"},
           {{"set"}, "\"set\" needs more words: catwalk set NODE setting=value …"},
           {{"show", "left", "right"}, "\"right\" is one word too many: catwalk show NODE"},
           {{"nodes", "left"}, "\"left\" is one word too many: catwalk nodes"},
           {{"locate", "left", "10", "20"},
            "\"20\" is one word too many: catwalk locate NODE [SECONDS]"},
           {{"take-over"}, "\"take-over\" needs --why; catwalk take-over --help says more"},
           {{"shelve", "1"}, "\"shelve\" needs --why; catwalk shelve --help says more"},
           {{"shelve", "1", "--why", "x"},
            "\"shelve\" needs --for; catwalk shelve --help says more"},
           {{"shelve", "--for", "30m", "--why", "x"},
            "\"shelve\" needs more words: catwalk shelve ALARM"},
           {{"unshelve", "1", "--why", "x"}, "\"unshelve\" does not take --why"},
           {{"report", "today"}, "\"today\" is one word too many: catwalk report"},
           {{"what-if", "left", "--louder", "a=1", "--louder", "b=2"}, "--louder was given twice"},
           {{"explain", "left", "--passive", "left"}, "\"explain\" does not take --passive"},
           {{"recommend", "left", "right"},
            "\"right\" is one word too many: catwalk recommend [NODE]"},
           {{"tune", "--help"}, "there is no command \"tune\"; catwalk --help lists them"},
           {{"nodes", "--why", "x"}, "\"nodes\" does not take --why"},
           {{"check", "left", "gain=6", "--why", "x"}, "\"check\" does not take --why"},
           {{"show", "left", "--no-wait"}, "\"show\" does not take --no-wait"},
           {{"lock", "--node", "left"}, "\"lock\" does not take --node"},
           {{"set", "left", "gain=6", "--waive", "no choice"},
            "--waive REASON and --by NAME go together"},
           {{"adopt", "left", "--by", "Ana"}, "--waive REASON and --by NAME go together"}}) {
    const auto& the_error = error;
    CAPTURE(the_error);
    const auto arguments = parse_arguments(words);
    REQUIRE_FALSE(arguments);
    CHECK(arguments.error() == error);
  }
}

TEST_CASE("every command is in the help, and every option that a command takes is in it too") {
  const auto help = help_text();
  for (const auto& command : all_commands()) {
    CAPTURE(command.name);
    CHECK(help.find("\n  " + std::string{command.name}) != std::string::npos);
    CHECK(help_text(command).starts_with("catwalk " + std::string{command.name}));
    CHECK(help_text(command).find(command.help) != std::string::npos);
    for (std::size_t at = 0; at < command.options.size();) {
      const auto end = std::min(command.options.find(' ', at), command.options.size());
      auto option = std::string{command.options.substr(at, end - at)};
      option = option.substr(0, option.find(':'));
      CAPTURE(option);
      CHECK(help.find(option) != std::string::npos);
      const auto bracket = lists(command.needs, option) ? " " : " [";
      CHECK(help_text(command).find(bracket + option) != std::string::npos);
      CHECK(help_text(command).find("\n  " + option) != std::string::npos);
      // And it is understood, with a value if it takes one.
      Words words{std::string{command.name}};
      words.insert(words.end(), command.fewest, "word");
      words.insert(words.end(), {option, "value", "--waive", "a", "--by", "b"});
      if (command.most < command.fewest + 1) words.erase(words.end() - 4, words.end());
      const auto arguments = parse_arguments(words);
      if (!arguments) CHECK(arguments.error().find("does not take " + option) == std::string::npos);
      at = end + 1;
    }
  }
}

TEST_CASE("an option that means two things is told as what it means with each command") {
  const auto help_of = [](std::string_view name) {
    return help_text(*std::ranges::find(all_commands(), name, &CommandInfo::name));
  };
  for (const auto* of_a_way : {"preview", "crew", "tick", "untick"}) {
    CAPTURE(of_a_way);
    CHECK(help_of(of_a_way).find("\n  --from SEGMENT  ") != std::string::npos);
    CHECK(help_of(of_a_way).find("--from TIME") == std::string::npos);
  }
  for (const auto* of_a_time : {"journal", "report"}) {
    CAPTURE(of_a_time);
    CHECK(help_of(of_a_time).find("\n  --from TIME  ") != std::string::npos);
    CHECK(help_of(of_a_time).find("--from SEGMENT") == std::string::npos);
  }
  CHECK(help_of("shelve").find("a number with s, m or h behind it") != std::string::npos);
}

TEST_CASE("the address of a daemon is http or https, a host and a port, or a Unix socket") {
  struct Row {
    std::string url, host, port;
    bool secure = false;
  };
  for (const auto& [url, host, port, secure] :
       std::vector<Row>{{"http://127.0.0.1:8470", "127.0.0.1", "8470"},
                        {"http://rack.local:80/", "rack.local", "80"},
                        {"http://[::1]:65535", "::1", "65535"},
                        {"https://rack.example:443", "rack.example", "443", true}}) {
    const auto& the_url = url;
    CAPTURE(the_url);
    const auto address = parse_address(url);
    REQUIRE(address);
    CHECK(address->host == host);
    CHECK(address->port == port);
    CHECK(address->secure == secure);
  }
  const auto local = parse_address("unix:/run/catwalk/catwalk.sock");
  REQUIRE(local);
  CHECK(local->socket == "/run/catwalk/catwalk.sock");
  CHECK(local->host == "localhost");  // one of the names that every rack answers to
  CHECK_FALSE(local->secure);
  for (const char* url :
       {"", "unix:", "127.0.0.1:8470", "https://127.0.0.1", "ftp://127.0.0.1:21",
        "http://127.0.0.1", "http://:8470", "http://127.0.0.1:", "http://127.0.0.1:0",
        "http://127.0.0.1:65536", "http://127.0.0.1:80a", "http://rack/nodes"}) {
    CAPTURE(url);
    const auto address = parse_address(url);
    REQUIRE_FALSE(address);
    CHECK(address.error() == '"' + std::string{url} +
                                 "\" is not the address of a daemon; allowed is http://HOST:PORT, "
                                 "https://HOST:PORT or unix:FILE");
  }
}
