# SPDX-License-Identifier: Apache-2.0
# cmake -DOUT=embedded.cpp "-DFILES=name=path;…" -P embed.cmake: files as string literals.
set(text "// Made by embed.cmake.\n#include \"web/server/http/embedded.hpp\"\n\nnamespace catwalk::web::embedded {\n\n")
foreach(pair ${FILES})
  string(REGEX MATCH "^([^=]+)=(.*)$" whole "${pair}")
  file(READ "${CMAKE_MATCH_2}" content)
  string(APPEND text "const std::string_view ${CMAKE_MATCH_1} = R\"~embedded~(${content})~embedded~\";\n\n")
endforeach()
string(APPEND text "}  // namespace catwalk::web::embedded\n")
file(WRITE "${OUT}" "${text}")
