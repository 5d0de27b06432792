#include "archive/terms.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "absl/strings/ascii.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"

namespace coilwright::archive {
namespace {

// Words of one resource; PostgreSQL's text of terms ends at 1 MiB.
constexpr size_t kMostWords = 4096;
// Beginnings of up to so many characters are terms: too many words begin with them to be listed.
constexpr int kMostBeginning = 3;

constexpr int kFinePerDoubling = 8;
// Doublings that are told apart: 0.001 to 16 million of whatever unit. Beyond, all is one step; columns decide.
constexpr int kLeastDoubling = -10, kMostDoubling = 24;
constexpr int kMostCount = (1 << 16) - 1;

// Steps of a scale: fine ones in groups that coarse ones stand for.
struct Scale {
  int (*fine)(double value);
  int (*coarse)(int fine);
  int (*first_of)(int coarse);  // least fine one of a coarse one
  bool exact;                   // a fine step is one value
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

constexpr Scale kNumbers = {FineOfNumber, CoarseOfNumber, FirstOfNumber, false};
constexpr Scale kCounts = {FineOfCount, CoarseOfCount, FirstOfCount, true};

// Where a fine step of numbers ends and the next begins.
double EndOfFine(int fine) {
  if (fine >= kMostDoubling * kFinePerDoubling - 1) return HUGE_VAL;
  return fine < kLeastDoubling * kFinePerDoubling ? 0 : std::exp2((fine + 1.0) / kFinePerDoubling);
}

// Rounded to four digits, as six characters that are ordered as the numbers are: 400 is "524000", 0.37 is "493700".
std::string Digits(double value) {
  constexpr double kLeast = 1e-40, kMost = 9e39;
  if (!(value >= kLeast)) return "000000";
  if (value > kMost) return "999999";
  const std::string written = absl::StrFormat("%.3e", value);  // "3.700e-01"
  int exponent = 0;
  static_cast<void>(absl::SimpleAtoi(written.substr(6), &exponent));
  return absl::StrCat(50 + exponent, written.substr(0, 1), written.substr(2, 3));
}

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
    for (int characters = 1; characters <= kMostBeginning; ++characters) {
      const absl::string_view beginning = Beginning(word, characters);
      if (!beginning.empty()) Put(absl::StrCat(characters), beginning);
    }
  }
  std::string Joined() const { return absl::StrJoin(terms_, " "); }

 private:
  void Put(absl::string_view what, absl::string_view value) { terms_.insert(absl::StrCat(prefix_, what, "=", value)); }
  void Steps(const char* what, const Scale& scale, double value) {
    const int fine = scale.fine(value);
    if (!scale.exact) Put(absl::StrCat(what, "e"), Digits(value));
    Put(absl::StrCat(what, "f"), absl::StrCat(fine));
    Put(absl::StrCat(what, "c"), absl::StrCat(scale.coarse(fine)));
  }

  const std::string prefix_;
  std::set<std::string> terms_;
};

// A frame is written "112M" or "112 M" and volts "400V" or "400 V": a number and one or two letters after it are kept
// both ways, so that either is found as the other.
void PutBothWays(Terms& terms, const std::vector<std::string>& words) {
  constexpr size_t kMostLetters = 2;
  const auto all = [](absl::string_view text, bool (*is)(unsigned char)) {
    return std::all_of(text.begin(), text.end(), [is](char c) { return is(static_cast<unsigned char>(c)); });
  };
  const auto are_letters = [&](absl::string_view end) {
    return !end.empty() && end.size() <= kMostLetters && all(end, absl::ascii_isalpha);
  };
  for (size_t i = 0; i < words.size(); ++i) {
    const absl::string_view word = words[i];
    const absl::string_view end = word.substr(std::min(word.find_last_of("0123456789") + 1, word.size()));
    const absl::string_view number = word.substr(0, word.size() - end.size());
    if (number.empty() || !all(number, absl::ascii_isdigit)) continue;
    if (are_letters(end)) terms.Word(std::string(end));
    if (end.empty() && i + 1 < words.size() && are_letters(words[i + 1])) terms.Word(words[i] + words[i + 1]);
  }
}

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
    for (int characters = 1; characters <= kMostBeginning; ++characters) {
      if (Beginning(word, characters) == word) return One(absl::StrCat(characters), word);
    }
    query_.push_back({Whole(absl::StrCat(prefix_, "t=", word))});
    query_.back()[0].beginning = true;
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
    query_.push_back({Whole(absl::StrCat(prefix_, what, "=", value))});
  }
  static Term Whole(std::string text) { return Term{std::move(text), false, "", ""}; }
  // Whole coarse steps where the range covers them, else fine ones, else digits.
  void Steps(const char* what, const Scale& scale, const Range& range, double least, double most) {
    if (!range.least.has_value() && !range.most.has_value()) return;
    constexpr int kMostFine = 64;
    std::vector<Term> any;
    const int first = scale.fine(least), last = scale.fine(most);
    const auto cut = [&](int fine) {
      return !scale.exact && ((fine == first && range.least.has_value()) || (fine == last && range.most.has_value()));
    };
    for (int coarse = scale.coarse(first); least <= most && coarse <= scale.coarse(last); ++coarse) {
      const int begin = scale.first_of(coarse), end = scale.first_of(coarse + 1) - 1;
      const int from = std::max(first, begin), to = std::min(last, end);
      if ((from == begin && to == end && !cut(from) && !cut(to)) || to - from >= kMostFine) {
        any.push_back(Whole(absl::StrCat(prefix_, what, "c=", coarse)));
        continue;
      }
      for (int fine = from; fine <= to; ++fine) {
        any.push_back(Whole(absl::StrCat(prefix_, what, "f=", fine)));
        if (!cut(fine)) continue;
        any.back().first = absl::StrCat(prefix_, what, "e=", Digits(std::max(least, EndOfFine(fine - 1))));
        any.back().last = absl::StrCat(prefix_, what, "e=", Digits(std::min(most, EndOfFine(fine))));
      }
    }
    query_.push_back(std::move(any));
  }

  const std::string prefix_;
  TermQuery query_;
};

}  // namespace

std::string TermsOf(Kind kind, const Facts& facts) {
  if (kind == Kind::kReadings) return "";
  Terms terms(kind);
  std::vector<std::string> words = Words(facts.text);
  if (words.size() > kMostWords) words.resize(kMostWords);
  for (const std::string& word : words) terms.Word(word);
  PutBothWays(terms, words);
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
