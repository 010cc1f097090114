// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/what_if_words.hpp"

#include "daemon/cli/settings_words.hpp"

namespace catwalk::cli {

Result<nlohmann::ordered_json, std::string> what_if_question(const Arguments& arguments) {
  auto settings = parse_settings({arguments.words.begin() + 1, arguments.words.end()});
  if (!settings) return Failure{settings.error()};
  auto question = nlohmann::ordered_json::object();
  if (!settings->empty()) question["settings"] = *settings;
  if (arguments.has("--passive")) question["passive"] = parse_names(arguments.value("--passive"));
  struct Amounts {
    const char *option, *member, *allowed;
  };
  for (const auto& [option, member, allowed] :
       {Amounts{"--louder", "louder_db", "CARRIER=DB, such as ear-1=6"},
        Amounts{"--longer", "longer_m", "NODE=M, such as truss-left=30"}}) {
    if (!arguments.has(option)) continue;
    auto amounts = parse_amounts(option, arguments.value(option), allowed);
    if (!amounts) return Failure{amounts.error()};
    question[member] = *amounts;
  }
  for (const char* name : {"carrier", "segment"})
    if (arguments.has("--" + std::string{name}))
      question[name] = arguments.value("--" + std::string{name});
  return question;
}

}  // namespace catwalk::cli
