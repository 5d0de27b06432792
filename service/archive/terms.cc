#include "archive/terms.h"

#include <utf8proc.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"

namespace coilwright::archive {
namespace {

constexpr size_t kMostWordBytes = 48;
// Of one resource; PostgreSQL's text of terms ends at 1 MiB.
constexpr size_t kMostWords = 4096;

constexpr int kFinePerDoubling = 8;
// Doublings that are told apart: 0.001 to 16 million of whatever unit. Beyond, all is one step; columns decide.
constexpr int kLeastDoubling = -10, kMostDoubling = 24;
constexpr int kMostCount = (1 << 16) - 1;

// Steps of a scale: fine ones in groups that coarse ones stand for.
struct Scale {
  int (*fine)(double value);
  int (*coarse)(int fine);
  int (*first_of)(int coarse);  // least fine one of a coarse one
};

int FineOfNumber(double value) {
  if (!(value > 0)) return kLeastDoubling * kFinePerDoubling;
  const double step = std::floor(std::log2(value) * kFinePerDoubling);
  return static_cast<int>(
      std::clamp(step, 1.0 * kLeastDoubling * kFinePerDoubling, kMostDoubling * kFinePerDoubling - 1.0));
}
int CoarseOfNumber(int fine) { return static_cast<int>(std::floor(fine / static_cast<double>(kFinePerDoubling))); }
int FirstOfNumber(int coarse) { return coarse * kFinePerDoubling; }

int FineOfCount(double value) { return value > 0 ? static_cast<int>(std::min<double>(value, kMostCount)) : 0; }
int CoarseOfCount(int fine) { return fine < 1 ? -1 : static_cast<int>(std::log2(fine)); }
int FirstOfCount(int coarse) { return coarse < 0 ? 0 : 1 << coarse; }

constexpr Scale kNumbers = {FineOfNumber, CoarseOfNumber, FirstOfNumber};
constexpr Scale kCounts = {FineOfCount, CoarseOfCount, FirstOfCount};

std::string Prefix(Kind kind) { return kind == Kind::kJob ? "j." : "w."; }

// Characters beyond ASCII have one form as a name is written, so only ASCII needs care. Two names may share a term.
std::string Plain(absl::string_view name) {
  std::string plain(name);
  for (char& c : plain) {
    if (absl::ascii_isascii(static_cast<unsigned char>(c)) && !absl::ascii_isalnum(static_cast<unsigned char>(c)) &&
        c != '/' && c != '-') {
      c = '_';
    }
  }
  return absl::AsciiStrToLower(plain);
}

absl::string_view Beginning(absl::string_view word, int characters) {
  size_t end = 0;
  for (; characters > 0 && end < word.size(); --characters) {
    do {
      ++end;
    } while (end < word.size() && (static_cast<unsigned char>(word[end]) & 0xc0) == 0x80);
  }
  return characters > 0 ? absl::string_view() : word.substr(0, end);
}

class Terms {
 public:
  explicit Terms(Kind kind) : prefix_(Prefix(kind)) {}
  void Enum(const char* what, int number) {
    if (number != 0) Put(what, absl::StrCat(number));
  }
  void Name(const char* what, const std::string& name) {
    if (!name.empty()) Put(what, Plain(name));
  }
  void Number(const char* what, const std::optional<double>& number) {
    if (number.has_value()) Steps(what, kNumbers, *number);
  }
  void Count(const char* what, const std::optional<int>& count) {
    if (count.has_value()) Steps(what, kCounts, *count);
  }
  void Word(const std::string& word) {
    Put("t", word);
    for (const int characters : {1, 2}) {
      const absl::string_view beginning = Beginning(word, characters);
      if (!beginning.empty()) Put(characters == 1 ? "1" : "2", beginning);
    }
  }
  std::string Joined() const { return absl::StrJoin(terms_, " "); }

 private:
  void Put(absl::string_view what, absl::string_view value) { terms_.insert(absl::StrCat(prefix_, what, "=", value)); }
  void Steps(const char* what, const Scale& scale, double value) {
    const int fine = scale.fine(value);
    Put(absl::StrCat(what, "f"), absl::StrCat(fine));
    Put(absl::StrCat(what, "c"), absl::StrCat(scale.coarse(fine)));
  }

  const std::string prefix_;
  std::set<std::string> terms_;
};

class Questions {
 public:
  explicit Questions(Kind kind) : prefix_(Prefix(kind)) {}
  void Enum(const char* what, int number) {
    if (number != 0) One(what, absl::StrCat(number));
  }
  void Name(const char* what, const std::string& name) {
    if (!name.empty()) One(what, Plain(name));
  }
  void Word(const std::string& word) {
    if (Beginning(word, 3).empty()) {
      One(Beginning(word, 2).empty() ? "1" : "2", word);
    } else {
      query_.push_back({Term{absl::StrCat(prefix_, "t=", word), true}});
    }
  }
  // A margin on both ends keeps a value that was rounded otherwise when it was kept within.
  void Number(const char* what, const Range& range) {
    constexpr double kMargin = 1e-9;
    Steps(what, kNumbers, range, range.least.value_or(0) * (1 - kMargin),
          range.most.value_or(HUGE_VAL) * (1 + kMargin));
  }
  void Count(const char* what, const Range& range) {
    Steps(what, kCounts, range, std::ceil(range.least.value_or(0)), range.most.value_or(HUGE_VAL));
  }
  TermQuery Take() { return std::move(query_); }

 private:
  void One(absl::string_view what, absl::string_view value) {
    query_.push_back({Term{absl::StrCat(prefix_, what, "=", value)}});
  }
  // Whole coarse steps where the range covers them, fine ones at its ends; a coarse one again where that end is long.
  void Steps(const char* what, const Scale& scale, const Range& range, double least, double most) {
    if (!range.least.has_value() && !range.most.has_value()) return;
    constexpr int kMostFine = 64;
    std::vector<Term> any;
    const int first = scale.fine(least), last = scale.fine(most);
    if (least <= most) {
      for (int coarse = scale.coarse(first); coarse <= scale.coarse(last); ++coarse) {
        const int from = std::max(first, scale.first_of(coarse)), to = std::min(last, scale.first_of(coarse + 1) - 1);
        const bool covered = from == scale.first_of(coarse) && to == scale.first_of(coarse + 1) - 1;
        if (covered || to - from >= kMostFine) {
          any.push_back({absl::StrCat(prefix_, what, "c=", coarse)});
          continue;
        }
        for (int fine = from; fine <= to; ++fine) any.push_back({absl::StrCat(prefix_, what, "f=", fine)});
      }
    }
    query_.push_back(std::move(any));
  }

  const std::string prefix_;
  TermQuery query_;
};

}  // namespace

std::vector<std::string> Words(absl::string_view text) {
  constexpr auto kOptions = static_cast<utf8proc_option_t>(UTF8PROC_COMPAT | UTF8PROC_DECOMPOSE | UTF8PROC_CASEFOLD |
                                                           UTF8PROC_STRIPMARK | UTF8PROC_IGNORE);
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

std::string TermsOf(Kind kind, const Facts& facts) {
  if (kind == Kind::kReadings) return "";
  Terms terms(kind);
  std::vector<std::string> words = Words(facts.text);
  if (words.size() > kMostWords) words.resize(kMostWords);
  for (const std::string& word : words) terms.Word(word);
  terms.Enum("k", facts.machine_kind);
  terms.Enum("d", facts.verdict);
  terms.Enum("g", facts.stage);
  terms.Name("u", facts.parent);
  terms.Name("r", facts.serial);
  terms.Count("s", facts.slots);
  terms.Count("q", facts.poles);
  terms.Number("v", facts.rated_volts);
  terms.Number("p", facts.rated_kw);
  terms.Number("n", facts.speed_rpm);
  terms.Number("b", facts.bore_mm);
  terms.Number("o", facts.outer_mm);
  terms.Number("l", facts.stack_length_mm);
  return terms.Joined();
}

std::vector<std::string> WordTerms(absl::string_view terms) {
  std::vector<std::string> words;
  for (const absl::string_view term : absl::StrSplit(terms, ' ', absl::SkipEmpty())) {
    if (absl::StartsWith(term.substr(1), ".t=")) words.emplace_back(term);
  }
  return words;
}

TermQuery TermsFor(const Query& query) {
  if (query.kind == Kind::kReadings) return {};
  Questions questions(query.kind);
  const std::vector<std::string> words = Words(query.text);
  for (const std::string& word : std::set<std::string>(words.begin(), words.end())) questions.Word(word);
  questions.Enum("k", query.machine_kind);
  questions.Enum("d", query.verdict);
  questions.Enum("g", query.stage);
  questions.Name("u", query.parent);
  questions.Name("r", query.serial);
  questions.Count("s", query.slots);
  questions.Count("q", query.poles);
  questions.Number("v", query.rated_volts);
  questions.Number("p", query.rated_kw);
  questions.Number("n", query.speed_rpm);
  questions.Number("b", query.bore_mm);
  questions.Number("o", query.outer_mm);
  questions.Number("l", query.stack_length_mm);
  return questions.Take();
}

std::string Fts5Text(const TermQuery& query) {
  return absl::StrJoin(query, " AND ", [](std::string* out, const std::vector<Term>& any) {
    absl::StrAppend(out, "(",
                    absl::StrJoin(any, " OR ",
                                  [](std::string* inner, const Term& term) {
                                    absl::StrAppend(inner, "\"", term.text, "\"", term.beginning ? " *" : "");
                                  }),
                    ")");
  });
}

std::string TsQueryText(const TermQuery& query) {
  return absl::StrJoin(query, " & ", [](std::string* out, const std::vector<Term>& any) {
    absl::StrAppend(out, "(",
                    absl::StrJoin(any, " | ",
                                  [](std::string* inner, const Term& term) {
                                    absl::StrAppend(inner, "'", term.text, "'", term.beginning ? ":*" : "");
                                  }),
                    ")");
  });
}

}  // namespace coilwright::archive
