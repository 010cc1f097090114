// SPDX-License-Identifier: Apache-2.0
// TLS from certificate files: by our own client, and by OpenSSL's, which is not ours.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "protocol/sha256.hpp"
#include "tests/support/rig.hpp"

using namespace catwalk;
using namespace catwalk::test;

namespace {

int openssl(const Rig& rig, const std::vector<std::string>& words) {
  return Process{"/usr/bin/openssl", words, rig.file("openssl.log")}.wait();
}

// Vouches for itself, as 127.0.0.1.
void make_certificate(const Rig& rig, const std::string& name) {
  std::filesystem::create_directories(rig.file("state"));
  REQUIRE(
      openssl(rig, {"req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256",
                    "-nodes", "-days", "2", "-subj", "/CN=rack", "-addext",
                    "subjectAltName=IP:127.0.0.1", "-keyout", rig.file("state") / (name + ".key"),
                    "-out", rig.file("state") / (name + ".pem")}) == 0);
}

struct SecureRack {
  Rig rig;
  std::unique_ptr<Process> daemon;
  std::string url;

  SecureRack() {
    make_certificate(rig, "rack");
    rig.edit_rack([](Json& rack) {
      rack["tokens"] = {{{"name", "ana"},
                         {"role", "engineer"},
                         {"sha256", protocol::sha256_hex("ana-has-this")}}};
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
  SecureRack rack;
  const auto port = rack.url.substr(rack.url.rfind(':') + 1);
  const auto shakes_hands = [&](const std::string& version) {
    // It ends when there is nothing more to say.
    const auto command = "openssl s_client -connect 127.0.0.1:" + port + " -CAfile '" +
                         (rack.rig.file("state") / "rack.pem").string() +
                         "' -verify_ip 127.0.0.1 -verify_return_error"
                         " -cipher DEFAULT@SECLEVEL=0 " +
                         version + " </dev/null";
    Process process{"/bin/sh", {"-c", command}, rack.rig.file("openssl.log")};
    process.wait();
    const auto said = process.output();
    return said.find("Verify return code: 0 (ok)") != std::string::npos &&
           said.find("Cipher is (NONE)") == std::string::npos;
  };
  CHECK(shakes_hands("-tls1_3"));
  CHECK(shakes_hands("-tls1_2"));
  CHECK_FALSE(shakes_hands("-tls1_1"));
  CHECK_FALSE(shakes_hands("-tls1"));
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
