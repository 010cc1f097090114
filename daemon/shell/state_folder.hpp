// SPDX-License-Identifier: Apache-2.0
#pragma once
// The folder that outlives the daemon, and the journal in it.

#include "config/rack_file.hpp"
#include "daemon/base/result.hpp"
#include "daemon/store/open_store.hpp"

namespace catwalk::shell {

// Makes the folder if there is none. On a disk that has failed the journal is one that does not
// last; what somebody has to put right in the installation is an error.
Result<store::OpenedStore, store::StoreError> open_store_of(const config::RackFile& rack);

}  // namespace catwalk::shell
