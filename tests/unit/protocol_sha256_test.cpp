// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "daemon/base/sha256.hpp"

using catwalk::sha256_hex;

// FIPS 180-4's one-block and two-block messages, as in the examples that NIST publishes with it.
TEST_CASE("SHA-256 gives the published digests") {
  CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
}
