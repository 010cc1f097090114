// SPDX-License-Identifier: Apache-2.0
#pragma once
// Requests that were valid once. The same seed makes the same requests.

#include <cstdint>
#include <random>
#include <string>
#include <vector>

namespace catwalk::test {

class Mutator {
 public:
  // `tokens`: those that may be shown; whoever has one of them may only look.
  Mutator(std::uint64_t seed, std::vector<std::string> tokens);

  // One request that can be told where it ends, so that the next on the same connection is read as
  // one, whatever else is wrong with it; now and then it ends the connection all the same.
  std::string next();
  // One that is broken anywhere.
  std::string broken();

 private:
  struct Request {
    std::string method, target;
    std::vector<std::string> fields;  // "Host: 127.0.0.1"
    std::string body;
  };
  std::size_t below(std::size_t count) {
    return std::uniform_int_distribution<std::size_t>{0, count - 1}(random_);
  }
  bool one_in(std::size_t count) { return below(count) == 0; }
  template <class List>
  const auto& any(const List& list) {
    return list[below(std::size(list))];
  }
  std::string noise(std::size_t longest);

  Request valid();
  void change_meaning(Request& request, bool may_end);
  void change_body(std::string& body);
  std::string framed(const Request& request, bool badly, bool may_end);
  void break_bytes(std::string& bytes);

  std::mt19937_64 random_;
  std::vector<std::string> tokens_;
};

}  // namespace catwalk::test
