#pragma once

#include <string>

namespace coilwright::sheet {

// What a command of the shell prints; fails the running test where it does not end well.
std::string Printed(const std::string& command);

// Documents read by programs that are not ours. Each fails the running test where the document is refused.
std::string PdfText(const std::string& pdf);  // of all its pages
std::string PdfInfo(const std::string& pdf);
std::string PdfFonts(const std::string& pdf);  // one line a font under two of headings
// The texts of an SVG in their order, a line each, as an XML parser finds them.
std::string SvgText(const std::string& svg);

}  // namespace coilwright::sheet
