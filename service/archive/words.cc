#include <utf8proc.h>

#include <string>
#include <utility>
#include <vector>

#include "archive/terms.h"

namespace coilwright::archive {

std::vector<std::string> Words(absl::string_view text) {
  constexpr auto kOptions = static_cast<utf8proc_option_t>(UTF8PROC_COMPAT | UTF8PROC_DECOMPOSE | UTF8PROC_CASEFOLD |
                                                           UTF8PROC_STRIPMARK | UTF8PROC_IGNORE);
  constexpr size_t kMostWordBytes = 48;
  std::vector<std::string> words;
  std::string word;
  const auto end_word = [&] {
    if (!word.empty()) words.push_back(std::move(word));
    word.clear();
  };
  const auto* const bytes = reinterpret_cast<const utf8proc_uint8_t*>(text.data());
  for (size_t at = 0; at < text.size();) {
    utf8proc_int32_t character = -1;
    const utf8proc_ssize_t size =
        utf8proc_iterate(bytes + at, static_cast<utf8proc_ssize_t>(text.size() - at), &character);
    at += size > 0 ? static_cast<size_t>(size) : 1;
    if (size <= 0) {
      end_word();
      continue;
    }
    utf8proc_int32_t folded[32];
    int last_class = UTF8PROC_BOUNDCLASS_START;
    const utf8proc_ssize_t count = utf8proc_decompose_char(character, folded, 32, kOptions, &last_class);
    if (count < 0 || count > 32) {
      end_word();
      continue;
    }
    for (utf8proc_ssize_t i = 0; i < count; ++i) {
      const utf8proc_category_t category = utf8proc_category(folded[i]);
      const bool letter = category >= UTF8PROC_CATEGORY_LU && category <= UTF8PROC_CATEGORY_LO;
      const bool digit = category >= UTF8PROC_CATEGORY_ND && category <= UTF8PROC_CATEGORY_NO;
      if (!letter && !digit) {
        end_word();
        continue;
      }
      utf8proc_uint8_t encoded[4];
      const auto length = static_cast<size_t>(utf8proc_encode_char(folded[i], encoded));
      if (word.size() + length <= kMostWordBytes) word.append(reinterpret_cast<const char*>(encoded), length);
    }
  }
  end_word();
  return words;
}

}  // namespace coilwright::archive
