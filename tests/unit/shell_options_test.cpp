// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/options.hpp"

#include <doctest/doctest.h>

using namespace catwalk::shell;
using Words = std::vector<std::string>;
using Task = Options::Task;

TEST_CASE("one rack file is enough, and everything else has a usual value") {
  const auto options = parse_options({"harbour.json"});
  REQUIRE(options);
  CHECK(options->task == Task::run);
  CHECK(options->rack_file == "harbour.json");
  CHECK_FALSE(options->state_dir);
  CHECK_FALSE(options->port);
  CHECK(options->log_level == "info");
  CHECK(options->socket.empty());
}

TEST_CASE("options stand before or after the rack file") {
  for (const auto& words :
       {Words{"--state-dir", "/s", "--port", "0", "--log", "debug", "--check", "r.json"},
        Words{"r.json", "--check", "--log", "debug", "--port", "0", "--state-dir", "/s"}}) {
    const auto options = parse_options(words);
    REQUIRE(options);
    CHECK(options->task == Task::check);
    CHECK(options->rack_file == "r.json");
    CHECK(options->state_dir == "/s");
    CHECK(options->port == 0);
    CHECK(options->log_level == "debug");
  }
  CHECK(parse_options({"--verify-journal", "r.json"})->task == Task::verify_journal);
  const auto anchor = "7:" + std::string(64, 'a');
  const auto verify = parse_options(
      {"--verify-journal", "--anchor", anchor, "--journal", "season.sqlite", "--anchor", anchor});
  REQUIRE(verify);
  CHECK(verify->anchors == std::vector<catwalk::rack::JournalHead>(2, {7, std::string(64, 'a')}));
  CHECK(verify->journal == "season.sqlite");
  const auto exporting = parse_options({"--export-journal", "season.sqlite", "r.json"});
  REQUIRE(exporting);
  CHECK(exporting->task == Task::export_journal);
  CHECK(exporting->export_file == "season.sqlite");
  CHECK(parse_options({"--port", "65535", "r.json"})->port == 65535);
  CHECK(parse_options({"-"})->rack_file == "-");
  CHECK(parse_options({"--socket", "/run/c.sock", "r.json"})->socket == "/run/c.sock");
}

TEST_CASE("help and version need no rack file") {
  CHECK(parse_options({"--help"})->task == Task::help);
  CHECK(parse_options({"--version", "--nonsense"})->task == Task::version);
}

TEST_CASE("bad words are told by name, with what is allowed") {
  struct Row {
    Words words;
    std::string error;
  };
  for (const auto& [words, error] : std::vector<Row>{
           {{}, "a rack file is needed"},
           {{"--check"}, "a rack file is needed"},
           {{"a.json", "b.json"},
            "there are two rack files: a.json and b.json; one daemon runs one rack"},
           {{"--chekc", "a.json"}, "there is no option \"--chekc\"; catwalkd --help lists them"},
           {{"-p", "80", "a.json"}, "there is no option \"-p\"; catwalkd --help lists them"},
           {{"--port=80", "a.json"},
            "there is no option \"--port=80\"; catwalkd --help lists them"},
           {{"a.json", "--socket"}, "--socket needs a file"},
           {{"a.json", "--port"}, "--port is \"\"; allowed is 0 to 65535"},
           {{"--port", "", "a.json"}, "--port is \"\"; allowed is 0 to 65535"},
           {{"--port", "65536", "a.json"}, "--port is \"65536\"; allowed is 0 to 65535"},
           {{"--port", "-1", "a.json"}, "--port is \"-1\"; allowed is 0 to 65535"},
           {{"--port", "http", "a.json"}, "--port is \"http\"; allowed is 0 to 65535"},
           {{"--port", "80 ", "a.json"}, "--port is \"80 \"; allowed is 0 to 65535"},
           {{"a.json", "--state-dir"}, "--state-dir needs a folder"},
           {{"--verify-journal", "a.json", "--anchor", "7:abc"},
            "--anchor is \"7:abc\"; allowed is ROW:HASH, a row from 1 and 64 hexadecimal digits"},
           {{"--verify-journal", "a.json", "--anchor"},
            "--anchor is \"\"; allowed is ROW:HASH, a row from 1 and 64 hexadecimal digits"},
           {{"--verify-journal", "--journal"}, "--journal needs a file"},
           {{"--journal", "season.sqlite", "a.json"},
            "--anchor and --journal go with --verify-journal only"},
           {{"--export-journal"}, "--export-journal needs a file"},
           {{"--verify-journal"}, "a rack file is needed"},
           {{"--state-dir", "", "a.json"}, "--state-dir needs a folder"},
           {{"--log", "loud", "a.json"},
            "--log is \"loud\"; allowed is debug, info, warn, error or off"},
           {{"a.json", "--log"}, "--log is \"\"; allowed is debug, info, warn, error or off"}}) {
    const auto& the_error = error;
    CAPTURE(the_error);
    const auto options = parse_options(words);
    REQUIRE_FALSE(options);
    CHECK(options.error() == error);
  }
}

TEST_CASE("every option that the help names is understood") {
  const std::string text{usage()};
  std::size_t found = 0;
  for (std::size_t at = 0; (at = text.find("--", at)) != std::string::npos;) {
    const auto end = text.find_first_not_of("abcdefghijklmnopqrstuvwxyz-", at);
    const auto option = text.substr(at, end - at);
    at = end;
    ++found;
    CAPTURE(option);
    const auto options = parse_options({option, "0", "r.json"});
    if (!options) CHECK(options.error().find("there is no option") == std::string::npos);
  }
  CHECK(found >= 7);
}
