// SPDX-License-Identifier: Apache-2.0
#include "web/server/http/framing.hpp"

#include "web/server/http/http.hpp"

namespace catwalk::web {
namespace {

// "gzip, chunked": there, the end of the body is known, and only what it holds is not.
bool ends_in_chunked(std::string_view codings) {
  const auto comma = codings.rfind(',');
  return comma != std::string_view::npos && trimmed(codings.substr(comma + 1)) == "chunked" &&
         codings.substr(0, comma).find("chunked") == std::string_view::npos;
}

}  // namespace

std::optional<BadFraming> bad_framing(const SaidOfBody& said) {
  const auto& fields = said.transfer_encodings;
  if (said.lengths > 1)
    return BadFraming{400, "The request has more than one Content-Length header."};
  if (fields.empty()) return std::nullopt;
  if (fields.size() > 1)
    return BadFraming{400, "The request has more than one Transfer-Encoding header."};
  if (said.lengths > 0)
    return BadFraming{400, "The request has both a Transfer-Encoding and a Content-Length."};
  if (!said.http_1_1)
    return BadFraming{400, "There is no Transfer-Encoding in HTTP/1.0."};  // section 6.1
  const auto coding = lower_case(trimmed(fields.front()));
  if (coding == "chunked") return std::nullopt;
  return BadFraming{
      ends_in_chunked(coding) ? 501 : 400,
      "The Transfer-Encoding is \"" + std::string{fields.front()} + "\"; allowed is chunked."};
}

}  // namespace catwalk::web
