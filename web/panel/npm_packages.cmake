# SPDX-License-Identifier: Apache-2.0
# install_npm_packages(NPM FOLDER): those that the lock file in FOLDER names, unless they are there.
function(install_npm_packages npm folder)
  set(installed ${folder}/node_modules/installed-lock.json)
  if(EXISTS ${installed})
    file(SHA256 ${installed} have)
  endif()
  file(SHA256 ${folder}/package-lock.json want)
  if(NOT "${have}" STREQUAL "${want}")
    execute_process(COMMAND ${npm} ci --ignore-scripts --no-audit --no-fund --loglevel=error
                    WORKING_DIRECTORY ${folder} OUTPUT_QUIET COMMAND_ERROR_IS_FATAL ANY)
    configure_file(${folder}/package-lock.json ${installed} COPYONLY)
  endif()
endfunction()
