// SPDX-License-Identifier: Apache-2.0
// TLS from certificate files: by our own client, and by OpenSSL's, which is not ours.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "daemon/base/sha256.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

int openssl(const Rig& rig, const std::vector<std::string>& words) {
  return Process{"/usr/bin/openssl", words, rig.file("openssl.log")}.wait();
}

// Vouches for itself, as 127.0.0.1.
void make_certificate(const Rig& rig, const std::string& name, const std::string& days = "2",
                      const std::vector<std::string>& key = {"ec", "-pkeyopt",
                                                             "ec_paramgen_curve:P-256"}) {
  std::filesystem::create_directories(rig.file("state"));
  std::vector<std::string> words{"req", "-x509", "-newkey"};
  words.insert(words.end(), key.begin(), key.end());
  for (const auto& word : std::vector<std::string>{"-nodes", "-days", days, "-subj", "/CN=" + name,
                                                   "-addext", "subjectAltName=IP:127.0.0.1",
                                                   "-keyout", rig.file("state") / (name + ".key"),
                                                   "-out", rig.file("state") / (name + ".pem")})
    words.push_back(word);
  REQUIRE(openssl(rig, words) == 0);
}

struct SecureRack {
  Rig rig;
  std::unique_ptr<Process> daemon;
  std::string url;

  explicit SecureRack(const std::string& days = "2",
                      const std::vector<std::string>& key = {"ec", "-pkeyopt",
                                                             "ec_paramgen_curve:P-256"}) {
    make_certificate(rig, "rack", days, key);
    rig.edit_rack([](Json& rack) {
      rack["tokens"] = {
          {{"name", "ana"}, {"role", "engineer"}, {"sha256", sha256_hex("ana-has-this")}}};
      rack["server"] = {{"port", 0},
                        {"tls", {{"certificate_file", "rack.pem"}, {"key_file", "rack.key"}}}};
    });
    std::ofstream{rig.file("token")} << "ana-has-this\n";
    start();
  }
  void start() {
    daemon = std::make_unique<Process>(
        CATWALKD, std::vector<std::string>{rig.file("rack.json").string()}, rig.file("daemon.log"));
    const std::string mark = "https://127.0.0.1:";
    REQUIRE(eventually(
        [&] { return !daemon->running() || daemon->output().find(mark) != std::string::npos; }));
    REQUIRE(daemon->running());
    const auto log = daemon->output();
    const auto at = log.find(mark) + mark.size();
    url = mark + log.substr(at, log.find_first_not_of("0123456789", at) - at);
  }
  // What OpenSSL's client says of a handshake with these words.
  std::string shake_hands(const std::string& words) const {
    // It ends when there is nothing more to say.
    const auto command = "openssl s_client -connect 127.0.0.1:" + url.substr(url.rfind(':') + 1) +
                         " -CAfile '" + (rig.file("state") / "rack.pem").string() +
                         "' -verify_ip 127.0.0.1 " + words + " </dev/null";
    Process process{"/bin/sh", {"-c", command}, rig.file("openssl.log")};
    process.wait();
    return process.output();
  }
  bool shakes_hands(const std::string& words) const {
    const auto said = shake_hands("-verify_return_error " + words);
    return said.find("Verify return code: 0 (ok)") != std::string::npos &&
           said.find("Cipher is (NONE)") == std::string::npos;
  }
  Rig::Ran run(std::vector<std::string> words, const std::string& authority = "state/rack.pem") {
    std::vector<std::string> all{"--server", url, "--token-file", rig.file("token").string()};
    if (!authority.empty()) {
      all.emplace_back("--authority");
      all.push_back(rig.file(authority).string());
    }
    all.insert(all.end(), words.begin(), words.end());
    Process process{CATWALK, all, rig.file("cli.log")};
    const int status = process.wait();
    return {status, process.output()};
  }
};

}  // namespace

TEST_CASE("over TLS the rack answers to who trusts its certificate, and to its name") {
  SecureRack rack;
  const auto told = rack.run({"rack", "--json"});
  CHECK(told.status == 0);
  CHECK(told.output.find("\"segment\"") != std::string::npos);
  CHECK(rack.run({"rack"}, "").output.find("certificate verify failed") != std::string::npos);
  const auto missing = rack.run({"rack"}, "state/none.pem");
  CHECK(missing.status != 0);
  CHECK(missing.output.find("no certificate can be read from") != std::string::npos);
  make_certificate(rack.rig, "another");
  CHECK(rack.run({"rack"}, "state/another.pem").output.find("certificate verify failed") !=
        std::string::npos);
  rack.url.replace(rack.url.find("127.0.0.1"), 9, "localhost");
  CHECK(rack.run({"rack"}).output.find("certificate verify failed") != std::string::npos);
}

// RFC 9325, section 3.1.1: TLS 1.2 and 1.3, and nothing before.
TEST_CASE("nothing older than TLS 1.2 is spoken") {
  const SecureRack rack;
  const std::string old = "-cipher DEFAULT@SECLEVEL=0 ";
  CHECK(rack.shakes_hands(old + "-tls1_3"));
  CHECK(rack.shakes_hands(old + "-tls1_2"));
  CHECK_FALSE(rack.shakes_hands(old + "-tls1_1"));
  CHECK_FALSE(rack.shakes_hands(old + "-tls1"));
}

// RFC 9325, section 4.1: no static RSA, no CBC, nothing without authenticated encryption; section
// 4.2: what is recommended.
TEST_CASE("TLS 1.2 is spoken with ephemeral keys and authenticated encryption only") {
  const SecureRack rack{"2", {"rsa:2048"}};
  for (const auto* cipher : {"ECDHE-RSA-AES128-GCM-SHA256", "ECDHE-RSA-AES256-GCM-SHA384",
                             "ECDHE-RSA-CHACHA20-POLY1305"}) {
    CAPTURE(cipher);
    CHECK(rack.shakes_hands("-tls1_2 -cipher " + std::string{cipher}));
  }
  for (const auto* cipher :
       {"AES128-GCM-SHA256", "AES256-GCM-SHA384", "AES128-SHA", "AES256-SHA256",
        "ECDHE-RSA-AES128-SHA", "ECDHE-RSA-AES128-SHA256", "ECDHE-RSA-AES256-SHA384",
        "DHE-RSA-AES128-SHA", "aNULL@SECLEVEL=0", "eNULL@SECLEVEL=0", "CAMELLIA128-SHA"}) {
    CAPTURE(cipher);
    CHECK_FALSE(rack.shakes_hands("-tls1_2 -cipher " + std::string{cipher}));
  }
  CHECK(rack.shakes_hands("-tls1_3"));
}

TEST_CASE("reload shows a new certificate, keeps the old one for a bad one, and says which file") {
  SecureRack rack{"90"};
  const auto shown = [&] {
    const auto said = rack.shake_hands("");
    const auto at = said.find("subject=");
    return at == std::string::npos ? said : said.substr(at, said.find('\n', at) - at);
  };
  const auto subject = [](const std::string& said, const char* name) {
    CAPTURE(said);
    CHECK(said.find(name) != std::string::npos);
  };
  const auto put = [&](const std::string& from, const std::string& ending) {
    std::filesystem::copy_file(rack.rig.file("state") / (from + ending),
                               rack.rig.file("state") / ("rack" + ending),
                               std::filesystem::copy_options::overwrite_existing);
  };
  subject(shown(), "rack");
  make_certificate(rack.rig, "another", "90");
  std::filesystem::copy_file(rack.rig.file("state") / "rack.pem", rack.rig.file("old.pem"));

  put("another", ".pem");  // the key is still that of the old one
  const auto refused = rack.run({"reload"}, "old.pem");
  CHECK(refused.status != 0);
  subject(refused.output, "no private key of that certificate in ");
  subject(refused.output, "rack.key");
  subject(shown(), "rack");

  put("another", ".key");
  CHECK(rack.run({"reload"}, "old.pem").status == 0);
  subject(shown(), "another");
  CHECK(rack.run({"rack"}).status == 0);
  CHECK(rack.run({"rack"}, "old.pem").status != 0);

  std::ofstream{rack.rig.file("state") / "rack.pem"} << "no certificate\n";
  const auto none = rack.run({"reload"}, "state/another.pem");
  CHECK(none.status != 0);
  subject(none.output, "no certificate in ");
  CHECK(rack.run({"rack"}, "state/another.pem").status == 0);
}

TEST_CASE("a certificate that ends soon is an alarm, and one that has time left ends it") {
  SecureRack rack{"10"};
  CHECK(rack.daemon->output().find("The certificate of the rack ends at 20") != std::string::npos);
  const auto alarms = [&] { return rack.run({"alarms"}, "state/rack.pem").output; };
  CHECK(eventually([&] {
    return alarms().find("The certificate of the rack ends at 20") != std::string::npos;
  }));
  std::filesystem::copy_file(rack.rig.file("state") / "rack.pem", rack.rig.file("old.pem"));
  make_certificate(rack.rig, "rack", "90");
  CHECK(rack.run({"reload"}, "old.pem").status == 0);
  const auto left = rack.run({"alarms", "--json"});
  CAPTURE(left.output);
  const auto list = Json::parse(left.output).at("alarms");
  for (const auto& alarm : list)
    if (alarm.at("kind") == "certificate") CHECK_FALSE(alarm.at("active").get<bool>());
}

TEST_CASE("a certificate that is none, or a key of another, is told before anything is opened") {
  Rig rig;
  make_certificate(rig, "rack");
  make_certificate(rig, "another");
  const auto trouble = [&](const std::string& certificate, const std::string& key) {
    rig.edit_rack([&](Json& rack) {
      rack["server"] = {{"port", 0},
                        {"tls", {{"certificate_file", certificate}, {"key_file", key}}}};
    });
    Process daemon{CATWALKD, {rig.file("rack.json").string()}, rig.file("daemon.log")};
    CHECK(daemon.wait() != 0);
    return daemon.output();
  };
  const auto has = [](const std::string& said, const std::string& what) {
    CAPTURE(said);
    CHECK(said.find(what) != std::string::npos);
  };
  has(trouble("none.pem", "rack.key"), "/server/tls/certificate_file");
  has(trouble("rack.key", "rack.key"), "no certificate in ");
  has(trouble("rack.pem", "another.key"), "no private key of that certificate in ");
  std::filesystem::permissions(rig.file("state") / "rack.key", std::filesystem::perms{0644});
  has(trouble("rack.pem", "rack.key"), "is open to others, its mode is 0644");
}
