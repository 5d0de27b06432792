#include "text.h"

#include <algorithm>
#include <cstdint>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"

namespace coilwright::cli {
namespace {

// Length in bytes of the code point at `at`, 0 where the bytes are not one.
int CodePointLength(absl::string_view text, size_t at) {
  const auto byte = [&](size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0u; };
  const unsigned lead = byte(at);
  if (lead < 0x80) return 1;
  const int length = lead >= 0xC2 && lead <= 0xDF   ? 2
                     : lead >= 0xE0 && lead <= 0xEF ? 3
                     : lead >= 0xF0 && lead <= 0xF4 ? 4
                                                    : 0;
  for (int i = 1; i < length; ++i) {
    if ((byte(at + static_cast<size_t>(i)) & 0xC0u) != 0x80u) return 0;
  }
  const unsigned second = byte(at + 1);
  const bool overlong = (lead == 0xE0 && second < 0xA0) || (lead == 0xF0 && second < 0x90);
  const bool surrogate = lead == 0xED && second >= 0xA0;
  const bool beyond = lead == 0xF4 && second >= 0x90;
  return overlong || surrogate || beyond ? 0 : length;
}

size_t EditDistance(absl::string_view a, absl::string_view b) {
  std::vector<size_t> row(b.size() + 1);
  for (size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (size_t i = 1; i <= a.size(); ++i) {
    size_t diagonal = row[0];
    row[0] = i;
    for (size_t j = 1; j <= b.size(); ++j) {
      const size_t replaced = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({replaced, row[j] + 1, row[j - 1] + 1});
    }
  }
  return row[b.size()];
}

}  // namespace

int Width(absl::string_view utf8) {
  return static_cast<int>(std::count_if(utf8.begin(), utf8.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

std::vector<std::string> Wrap(absl::string_view text, int width) {
  std::vector<std::string> lines;
  for (absl::string_view word : absl::StrSplit(text, absl::ByAnyChar(" \n\t\r"), absl::SkipEmpty())) {
    if (lines.empty() || Width(lines.back()) + 1 + Width(word) > width) {
      lines.emplace_back(word);
    } else {
      absl::StrAppend(&lines.back(), " ", word);
    }
  }
  return lines;
}

std::string Printable(absl::string_view text) {
  std::string printable(text);
  // U+200E, U+200F, U+202A to U+202E and U+2066 to U+2069 turn the direction of what is printed after them.
  for (size_t i = 0; i + 2 < printable.size(); ++i) {
    const auto second = static_cast<unsigned char>(printable[i + 1]);
    const auto third = static_cast<unsigned char>(printable[i + 2]);
    const bool turns = (second == 0x80 && (third == 0x8E || third == 0x8F || (third >= 0xAA && third <= 0xAE))) ||
                       (second == 0x81 && third >= 0xA6 && third <= 0xA9);
    if (static_cast<unsigned char>(printable[i]) == 0xE2 && turns) printable.replace(i, 3, "?");
  }
  for (size_t i = 0; i < printable.size(); ++i) {
    const auto byte = static_cast<unsigned char>(printable[i]);
    // U+0080 to U+009F are C2 80 to C2 9F.
    const bool second_set =
        byte == 0xC2 && i + 1 < printable.size() && static_cast<unsigned char>(printable[i + 1]) < 0xA0;
    if (second_set) printable.erase(i, 1);
    if (byte < 0x20 || byte == 0x7F || second_set) printable[i] = '?';
  }
  return printable;
}

int FirstLineNotUtf8(absl::string_view text) {
  int line = 1;
  for (size_t at = 0; at < text.size();) {
    const int length = CodePointLength(text, at);
    if (length == 0) return line;
    if (text[at] == '\n') ++line;
    at += static_cast<size_t>(length);
  }
  return 0;
}

std::string Nearest(absl::string_view word, const std::vector<std::string>& known) {
  size_t least = std::max<size_t>(1, word.size() / 3) + 1;
  std::string nearest;
  for (const std::string& candidate : known) {
    const size_t distance = EditDistance(word, candidate);
    if (distance < least) {
      least = distance;
      nearest = candidate;
    }
  }
  return nearest;
}

}  // namespace coilwright::cli
