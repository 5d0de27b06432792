// write_rule_pages <docs>: writes <docs>/rules/*.md anew from the rule registry, and says which data revision
// <docs>/changes.md still has to explain.
#include <filesystem>
#include <fstream>
#include <iostream>
#include <sstream>

#include "house/rule_pages.h"
#include "standards/tables.h"

int main(int argc, char** argv) {
  if (argc != 2 || !std::filesystem::is_directory(argv[1])) {
    std::cerr << "usage: write_rule_pages <docs directory>\n";
    return 2;
  }
  const std::filesystem::path docs = argv[1];
  std::filesystem::remove_all(docs / "rules");
  std::filesystem::create_directory(docs / "rules");
  for (const auto& [name, text] : coilwright::house::RulePages()) {
    std::ofstream page(docs / "rules" / name);
    page << text;
    if (!page.flush()) {
      std::cerr << "cannot write " << docs / "rules" / name << "\n";
      return 1;
    }
  }
  std::ostringstream changes;
  changes << std::ifstream(docs / "changes.md").rdbuf();
  const std::string revision(coilwright::standards::DataRevision());
  if (changes.str().find(revision) == std::string::npos) {
    std::cout << "docs/changes.md needs a row for data revision " << revision << "\n";
  }
}
