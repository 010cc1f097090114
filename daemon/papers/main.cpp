// SPDX-License-Identifier: Apache-2.0
// catwalk-papers SCHEMAS FOLDER VERSION DATE: writes what stands beside the programs where they are
// installed, out of their own tables: manual pages, and completions for shells. Runs while Catwalk
// is built, and is not installed.
#include <filesystem>
#include <fstream>
#include <iostream>

#include "daemon/papers/completions.hpp"
#include "daemon/papers/file_page.hpp"
#include "daemon/papers/program_pages.hpp"

namespace {

using namespace catwalk::papers;

Schema schema_in(const std::filesystem::path& file) {
  std::ifstream in{file};
  in.exceptions(std::ios::badbit | std::ios::failbit);
  return Schema::parse(in);
}

void write(const std::filesystem::path& file, const std::string& text) {
  std::ofstream out{file};
  out.exceptions(std::ios::badbit | std::ios::failbit);
  out << text << std::flush;
}

void write_all(const std::filesystem::path& schemas, const std::filesystem::path& folder,
               const Edition& edition) {
  std::filesystem::create_directories(folder);
  write(folder / "catwalk.1", page_of_catwalk(edition));
  write(folder / "catwalkd.8", page_of_catwalkd(edition));
  write(folder / "catwalk-node.1", page_of_catwalk_node(edition));
  write(folder / "catwalk-rack.5",
        page_of_file(schema_in(schemas / "rack.schema.json"), "rack",
                     "the file that describes a rack: lines, nodes and receivers", edition));
  write(folder / "catwalk-show.5",
        page_of_file(schema_in(schemas / "show.schema.json"), "show",
                     "the file that describes a show: segments and their order", edition));
  write(folder / "catwalk.bash", completions_for_bash());
  write(folder / "_catwalk", completions_for_zsh());
  write(folder / "catwalk.fish", completions_for_fish());
}

}  // namespace

int main(int count, char** words) {
  if (count != 5) {
    std::cerr << "catwalk-papers SCHEMAS FOLDER VERSION DATE\n";
    return 2;
  }
  try {
    write_all(words[1], words[2], {words[3], words[4]});
    return 0;
  } catch (const std::exception& error) {
    std::cerr << "catwalk-papers: " << error.what() << '\n';
    return 1;
  }
}
