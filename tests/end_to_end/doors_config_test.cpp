// SPDX-License-Identifier: Apache-2.0
// Bad files, as `catwalkd --check` tells them: file, line, place, value, and what is allowed.
#include <doctest/doctest.h>

#include <fstream>

#include "tests/end_to_end/doors_bench.hpp"

using namespace catwalk::test;

namespace {

struct Checked {
  int status = 0;
  std::string said;  // without the folder's name
};

std::string without(std::string text, const std::string& part) {
  for (std::size_t at = 0; (at = text.find(part, at)) != std::string::npos;)
    text.erase(at, part.size());
  return text;
}

Checked check(const Rig& rig, const std::string& text) {
  std::ofstream{rig.file("bad.json")} << text;
  Process process{CATWALKD, {"--check", rig.file("bad.json").string()}, rig.file("check.log")};
  const int status = process.wait();
  return {status, without(process.output(), rig.file("").string())};
}

std::string read(const std::filesystem::path& file) {
  std::ifstream stream{file};
  return {std::istreambuf_iterator<char>{stream}, {}};
}

}  // namespace

TEST_CASE("a rack file is checked whole, and everything that is wrong with it is told") {
  const Rig rig;
  const auto good = read(rig.file("rack.json"));
  const auto fine = check(rig, good);
  CHECK(fine.status == 0);
  CHECK(fine.said == "");

  struct Case {
    std::string name;
    std::string changes;  // RFC 6902
    std::string said;
  };
  const std::vector<Case> cases{
      {"a gain limit upside down",
       R"([{"op":"replace","path":"/gain_limits_db/lowest","value":30}])",
       R"~(bad.json:10: /gain_limits_db/highest: 20 is below the lowest gain; allowed: 30 to 60 dB)~"
       "\n"},
      {"an unknown member", R"([{"op":"add","path":"/gian_limits_db","value":{}}])",
       R"~(bad.json:82: /gian_limits_db: "gian_limits_db" is not a member here, did you mean "gain_limits_db"?; allowed: "name", "lines", "datasheets", "nodes", "receivers", "show", "$schema", "bands", "cables", "gain_limits_db", "journal_days", "limits" and 9 more)~"
       "\n"},
      {"no nodes", R"([{"op":"replace","path":"/nodes","value":[]}])",
       R"~(bad.json:34: /receivers/0/branches/0/0: "bus-1" is not the name of a node; allowed: nothing yet)~"
       "\n"
       R"~(bad.json:37: /receivers/0/branches/1/0: "net-1" is not the name of a node; allowed: nothing yet)~"
       "\n"},
      {"a uid that is none", R"([{"op":"replace","path":"/nodes/0/uid","value":"7a10"}])",
       R"~(bad.json:31: /nodes/0/uid: "7a10" is not a node's unique id; allowed: four hexadecimal digits, "-" and eight more, such as "7a10-0000002f", neither all 0 nor all f)~"
       "\n"},
      {"a uid twice", R"([{"op":"replace","path":"/nodes/1/uid","value":"7a10-00000201"}])",
       R"~(bad.json:40: /nodes/1/uid: "7a10-00000201" is already used on line 31; allowed: each only once)~"
       "\n"},
      {"an address that is none", R"([{"op":"replace","path":"/nodes/0/address","value":248}])",
       R"~(bad.json:36: /nodes/0/address: 248 is out of range; allowed: 1 to 247)~"
       "\n"},
      {"an address twice", R"([{"op":"replace","path":"/nodes/1/address","value":1}])",
       R"~(bad.json:45: /nodes/1/address: 1 is already used on line 36; allowed: each only once)~"
       "\n"},
      {"a line that is not there", R"([{"op":"replace","path":"/nodes/2/line","value":"nte"}])",
       R"~(bad.json:50: /nodes/2/line: "nte" is not the name of a line, did you mean "net"?; allowed: "bus" or "net")~"
       "\n"},
      {"a datasheet that is not there",
       R"([{"op":"replace","path":"/nodes/0/datasheet","value":"tern"}])",
       R"~(bad.json:33: /nodes/0/datasheet: "tern" is not the name of a datasheet; allowed: "tern-inline")~"
       "\n"},
      {"a policy that is none", R"([{"op":"replace","path":"/nodes/0/on_return","value":"maybe"}])",
       R"~(bad.json:35: /nodes/0/on_return: "maybe" is not a choice here; allowed: "hold" or "reapply")~"
       "\n"},
      {"a name instead of an address",
       R"([{"op":"replace","path":"/nodes/2/endpoint","value":"grid.local:7010"}])",
       R"~(bad.json:54: /nodes/2/endpoint: "grid.local:7010" is not an address and a port; allowed: an IP address and a port, such as "192.0.2.7:47470" or "[2001:db8::7]:47470")~"
       "\n"},
      {"a baud rate that is text", R"([{"op":"replace","path":"/lines/0/baud","value":"fast"}])",
       R"~(bad.json:17: /lines/0/baud: "fast" is not a serial speed; allowed: 9600, 19200, 38400, 57600, 115200, 230400, 250000 or 460800 baud)~"
       "\n"},
      {"a line of no kind", R"([{"op":"replace","path":"/lines/0/kind","value":"canbus"}])",
       R"~(bad.json:15: /lines/0/kind: "canbus" is not a choice here; allowed: "serial", "udp" or "simulated")~"
       "\n"},
      {"a key file that is not there",
       R"([{"op":"replace","path":"/lines/1/key_file","value":"no.key"}])",
       R"~(bad.json:24: /lines/1/key_file: "no.key" cannot be read as state/no.key: No such file or directory; allowed: a file that can be read)~"
       "\n"},
      {"a port beyond the last", R"([{"op":"replace","path":"/server/port","value":65536}])",
       R"~(bad.json:80: /server/port: 65536 is out of range; allowed: 0 to 65535)~"
       "\n"},
      {"a receiver with three branches",
       R"([{"op":"replace","path":"/receivers/0/branches","value":[["bus-1"],["net-1"],["net-2"]]}])",
       R"~(bad.json:69: /receivers/0/branches: has 3 entries; allowed: a list of 1 to 2 entries)~"
       "\n"},
      {"a receiver of a node that is not there",
       R"([{"op":"replace","path":"/receivers/0/branches/1/0","value":"net-9"}])",
       R"~(bad.json:74: /receivers/0/branches/1/0: "net-9" is not the name of a node, did you mean "net-1"?; allowed: "bus-1", "bus-2", "net-1" or "net-2")~"
       "\n"},
      {"listening to everybody without tokens",
       R"([{"op":"add","path":"/server/host","value":"0.0.0.0"}])",
       R"~(bad.json:81: /server/host: "0.0.0.0" is open to other machines, but there are no tokens; allowed: "127.0.0.1" or "::1", or at least one entry in "tokens")~"
       "\n"
       R"~(bad.json:81: /server/host: "0.0.0.0" is open to other machines without TLS; allowed: "127.0.0.1" or "::1", or the member "tls", or the member "without_tls_because" with the reason why that is safe here)~"
       "\n"},
      {"a show that is not there", R"([{"op":"replace","path":"/show","value":"no.json"}])",
       R"~(bad.json:7: /show: "no.json" cannot be read as no.json: No such file or directory; allowed: a file that can be read)~"
       "\n"},
      {"a script that cannot be read",
       R"([{"op":"replace","path":"/lines/0","value":{"name":"bus","kind":"simulated",
           "script":["at 3s shake all"]}}])",
       R"~(bad.json:17: /lines/0/script/0: "at 3s shake all" is not a command of the simulation: command "shake": allowed is knob, power, silence, refuse, slow, lie, reboot, detector, route, trim, supply, plug, short, level, loss, corrupt, duplicate, delay)~"
       "\n"},
      {"two things at once",
       R"([{"op":"replace","path":"/nodes/0/address","value":0},
           {"op":"replace","path":"/server/port","value":"http"}])",
       R"~(bad.json:36: /nodes/0/address: 0 is out of range; allowed: 1 to 247)~"
       "\n"
       R"~(bad.json:80: /server/port: "http" is not a number; allowed: 0 to 65535)~"
       "\n"},
  };
  for (const auto& [name, changes, said] : cases) {
    const auto& the_name = name;
    CAPTURE(the_name);
    const auto bad = Json::parse(good).patch(Json::parse(changes));
    const auto checked = check(rig, bad.dump(2));
    CHECK(checked.status == 78);  // EX_CONFIG of sysexits.h
    CHECK(checked.said == said);
  }
}

TEST_CASE("text that is no JSON is told with its line") {
  const Rig rig;
  for (
      const auto& [text, said] : std::vector<std::pair<std::string, std::string>>{
          {"",
           R"~(bad.json:1: this is not JSON: unexpected end of input; expected '[', '{', or a literal)~"
           "\n"},
          {"{\n  \"name\": \"x\",\n  oops\n}", R"~(bad.json:3: this is not JSON: invalid literal)~"
                                               "\n"},
          {"[1, 2]",
           R"~(bad.json:1: […] is not an object; allowed: an object with the members "name", "lines", "datasheets", "nodes", "receivers" and "show")~"
           "\n"},
          {"{\"name\": \"a\", \"name\": \"b\"}",
           R"~(bad.json:1: /name: "name" stands here twice; allowed: each member once)~"
           "\n"
           R"~(bad.json:1: "lines" is missing; allowed: an object with the members "name", "lines", "datasheets", "nodes", "receivers" and "show")~"
           "\n"
           R"~(bad.json:1: "datasheets" is missing; allowed: an object with the members "name", "lines", "datasheets", "nodes", "receivers" and "show")~"
           "\n"
           R"~(bad.json:1: "nodes" is missing; allowed: an object with the members "name", "lines", "datasheets", "nodes", "receivers" and "show")~"
           "\n"
           R"~(bad.json:1: "receivers" is missing; allowed: an object with the members "name", "lines", "datasheets", "nodes", "receivers" and "show")~"
           "\n"
           R"~(bad.json:1: "show" is missing; allowed: an object with the members "name", "lines", "datasheets", "nodes", "receivers" and "show")~"
           "\n"},
          {std::string(10'000, '['),
           R"~(bad.json:1: /0/0/0/0/0/0/0/0/0/0/0/0/0/0/0: arrays and objects are nested too deeply; allowed: at most 16 within each other)~"
           "\n"}}) {
    const auto beginning = text.substr(0, 60);
    CAPTURE(beginning);
    const auto checked = check(rig, text);
    CHECK(checked.status == 78);
    CHECK(checked.said == said);
  }
}

TEST_CASE("a daemon does not start with a bad file, and says the same as --check") {
  const Rig rig;
  const auto text = without(read(rig.file("rack.json")), "\"name\": \"test\",");
  const auto checked = check(rig, text);
  CHECK(checked.status == 78);
  Process daemon{CATWALKD, {"--port", "0", rig.file("bad.json").string()}, rig.file("start.log")};
  CHECK(daemon.wait() == 78);
  CHECK(without(daemon.output(), rig.file("").string()) == checked.said);
}

TEST_CASE("a command line that cannot be used is told, and ends with 2") {
  const Rig rig;
  Process process{CATWALKD, {"--port", "many", "x.json"}, rig.file("usage.log")};
  CHECK(process.wait() == 2);
  CHECK(process.output() == "catwalkd: --port is \"many\"; allowed is 0 to 65535\n");
}
