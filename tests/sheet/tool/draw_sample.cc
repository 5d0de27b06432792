// draw_sample pdf|svg: the sample document of the tests on standard output, as drawn by a process of its own.
#include <iostream>

#include "absl/strings/string_view.h"
#include "sheet/sample.h"

int main(int argc, char** argv) {
  const bool svg = argc > 1 && absl::string_view(argv[1]) == "svg";
  const auto files =
      coilwright::sheet::DrawSample(svg ? coilwright::sheet::Format::kSvg : coilwright::sheet::Format::kPdf);
  if (!files.ok()) {
    std::cerr << files.status() << "\n";
    return 1;
  }
  for (const std::string& file : *files) std::cout << file;
}
