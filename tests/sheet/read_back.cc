#include "sheet/read_back.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdio>
#include <fstream>

#include "absl/strings/str_cat.h"

namespace coilwright::sheet {
namespace {

// A document in a file while it is read.
class File {
 public:
  explicit File(const std::string& bytes) : name_(::testing::TempDir() + "sheetXXXXXX") {
    const int descriptor = mkstemp(&name_[0]);
    EXPECT_GE(descriptor, 0);
    close(descriptor);
    std::ofstream(name_, std::ios::binary) << bytes;
  }
  ~File() { std::remove(name_.c_str()); }
  const std::string& name() const { return name_; }

 private:
  std::string name_;
};

std::string ReadBy(const std::string& program, const std::string& document, const std::string& after = "") {
  const File file(document);
  return Printed(absl::StrCat(program, " ", file.name(), after, " 2>&1"));
}

}  // namespace

std::string Printed(const std::string& command) {
  FILE* pipe = popen(command.c_str(), "r");
  EXPECT_NE(pipe, nullptr);
  std::string text;
  char block[4096];
  for (size_t n; (n = fread(block, 1, sizeof block, pipe)) > 0;) text.append(block, n);
  EXPECT_EQ(pclose(pipe), 0) << command << "\n" << text.substr(0, 2000);
  return text;
}

std::string PdfText(const std::string& pdf) { return ReadBy("pdftotext -layout", pdf, " -"); }
std::string PdfInfo(const std::string& pdf) { return ReadBy("pdfinfo", pdf); }
std::string PdfFonts(const std::string& pdf) { return ReadBy("pdffonts", pdf); }

std::string SvgText(const std::string& svg) {
  return ReadBy(
      "/usr/bin/python3 -c 'import sys, xml.etree.ElementTree as t\n"
      "for e in t.parse(sys.argv[1]).iter(\"{http://www.w3.org/2000/svg}text\"): print(e.text)'",
      svg);
}

}  // namespace coilwright::sheet
