# SPDX-License-Identifier: Apache-2.0
# cmake -DROOT=… -DOUT=FILE -DNUMBER=0.1.0 "-DBUILD=…" [-DGIT=…] -P stamp_version.cmake: writes the source that
# says which Catwalk this is, and only if it says something else than before. The commit comes from git if
# ROOT is the top of a work tree, and otherwise from commit.txt, which `git archive` fills in.
set(COMMIT unknown)
if(GIT)
  execute_process(COMMAND ${GIT} -C ${ROOT} rev-parse --show-toplevel --short=12 HEAD
                  OUTPUT_VARIABLE said ERROR_QUIET RESULT_VARIABLE failed OUTPUT_STRIP_TRAILING_WHITESPACE)
  if(NOT failed AND said MATCHES "^(.*)\n([0-9a-f]+)$")
    set(commit ${CMAKE_MATCH_2})
    file(REAL_PATH ${CMAKE_MATCH_1} top)
    file(REAL_PATH ${ROOT} root)
    if(top STREQUAL root)
      set(COMMIT ${commit})
      execute_process(COMMAND ${GIT} --no-optional-locks -C ${ROOT} status --porcelain --untracked-files=no
                      OUTPUT_VARIABLE changed ERROR_QUIET)
      if(changed)
        string(APPEND COMMIT "+changed")
      endif()
    endif()
  endif()
endif()
if(COMMIT STREQUAL unknown)
  file(STRINGS ${CMAKE_CURRENT_LIST_DIR}/commit.txt archived LIMIT_COUNT 1)
  if(archived MATCHES "^([0-9a-f][0-9a-f][0-9a-f][0-9a-f][0-9a-f][0-9a-f][0-9a-f][0-9a-f][0-9a-f][0-9a-f][0-9a-f][0-9a-f])")
    set(COMMIT ${CMAKE_MATCH_1})
  endif()
endif()
configure_file(${CMAKE_CURRENT_LIST_DIR}/version.cpp.in ${OUT} @ONLY)
