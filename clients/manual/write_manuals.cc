// write_manuals <version> <folder> <pages of docs/ with examples>...: manual pages, completions and the file of flags
// that are installed, from the table of commands and the flags of the server.

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "pages.h"

int main(int argc, char** argv) {
  using coilwright::manual::Sources;
  if (argc < 4) {
    std::fprintf(stderr, "usage: write_manuals VERSION FOLDER PAGES...\n");
    return 2;
  }
  Sources sources = {argv[1], ""};
  for (int i = 3; i < argc; ++i) {
    std::ifstream page(argv[i]);
    if (!page) {
      std::fprintf(stderr, "write_manuals: %s: cannot be opened\n", argv[i]);
      return 2;
    }
    sources.documentation.append(std::istreambuf_iterator<char>(page), {});
  }
  auto files = coilwright::manual::CommandPages(sources);
  files.emplace_back("man8/coilwrightd.8", coilwright::manual::ServerPage(sources));
  files.emplace_back("completions/coilwright", coilwright::manual::CommandCompletion());
  files.emplace_back("completions/coilwrightd", coilwright::manual::ServerCompletion());
  files.emplace_back("coilwrightd.flags", coilwright::manual::ServerFlagFile());
  const std::filesystem::path folder = argv[2];
  for (const auto& [name, text] : files) {
    std::error_code error;  // the file that cannot be written tells
    std::filesystem::create_directories((folder / name).parent_path(), error);
    std::ofstream file(folder / name);
    file << text;
    if (!file.flush()) {
      std::fprintf(stderr, "write_manuals: %s: cannot be written\n", (folder / name).c_str());
      return 1;
    }
  }
  return 0;
}
