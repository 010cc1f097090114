# SPDX-License-Identifier: Apache-2.0
# cmake -DFOLDER=… -P remove_packages.cmake: packages that were made before, of other versions perhaps.
file(GLOB packages ${FOLDER}/*.deb ${FOLDER}/*.ddeb)
if(packages)
  file(REMOVE ${packages})
endif()
