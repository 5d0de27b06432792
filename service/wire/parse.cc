#include <vector>

#include "absl/status/status.h"
#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"
#include "standards/errors.h"
#include "wire/sizes.h"
#include "wire/wire.h"

namespace coilwright::wire {
namespace {

using standards::Film;
using standards::WireSystem;

constexpr size_t kMostCharacters = 80;

absl::Status NotUnderstood(absl::string_view given) {
  return standards::InvalidField(
      "wire", given.empty() ? "nothing" : Quoted(given),
      R"(system, size and film, such as "AWG 18 heavy", "#18.5 single", "AWG 4/0", "0.71 mm grade 2" or "SWG 22 grade 1")");
}

enum class Kind { kWord, kNumber };
struct Token {
  Kind kind = Kind::kWord;
  std::string text;
};

// Words of letters, and numbers of digits with '.' or '/' between digits. Nothing where another character stands.
std::optional<std::vector<Token>> Tokens(absl::string_view text) {
  std::vector<Token> tokens;
  for (size_t i = 0; i < text.size();) {
    const size_t start = i;
    if (absl::ascii_isalpha(text[i]) || text[i] == '#') {
      while (i < text.size() && (absl::ascii_isalpha(text[i]) || text[i] == '#')) ++i;
      tokens.push_back({Kind::kWord, std::string(text.substr(start, i - start))});
    } else if (absl::ascii_isdigit(text[i])) {
      const auto joins = [&](size_t at) {
        return (text[at] == '.' || text[at] == '/') && at + 1 < text.size() && absl::ascii_isdigit(text[at + 1]);
      };
      while (i < text.size() && (absl::ascii_isdigit(text[i]) || joins(i))) ++i;
      tokens.push_back({Kind::kNumber, std::string(text.substr(start, i - start))});
    } else if (text[i] == '-' && (i == 0 || absl::ascii_isspace(text[i - 1]))) {
      return std::nullopt;  // a sign, not a hyphen
    } else if (absl::ascii_isspace(text[i]) || text[i] == '-' || text[i] == '.' || text[i] == '_') {
      // ".71" without its zero.
      const bool fraction = text[i] == '.' && i + 1 < text.size() && absl::ascii_isdigit(text[i + 1]) &&
                            (i == 0 || absl::ascii_isspace(text[i - 1]));
      ++i;
      if (fraction) {
        while (i < text.size() && absl::ascii_isdigit(text[i])) ++i;
        tokens.push_back({Kind::kNumber, absl::StrCat("0", text.substr(start, i - start))});
      }
    } else {
      return std::nullopt;
    }
  }
  return tokens;
}

enum class Family { kAwg, kMetric, kSwg };

// What was said so far; saying anything twice makes the text unclear.
struct Said {
  std::optional<Family> family;
  std::optional<Film> film;
  std::string size;
  bool half = false;
  bool unclear = false;

  void Say(Family one) {
    unclear |= family.has_value() && *family != one;
    family = one;
  }
  void Say(Film one) {
    unclear |= film.has_value();
    film = one;
  }
};

Said Read(const std::vector<Token>& tokens) {
  Said said;
  for (size_t i = 0; i < tokens.size() && !said.unclear; ++i) {
    const std::string& text = tokens[i].text;
    const std::string next = i + 1 < tokens.size() ? tokens[i + 1].text : "";
    if (tokens[i].kind == Kind::kNumber) {
      if (said.size.empty()) {
        said.size = text;
      } else {
        said.unclear = said.half || text != "1/2";
        said.half = true;
      }
    } else if (text == "awg" || text == "#" || text == "ga" || text == "gauge") {
      said.Say(Family::kAwg);
    } else if (text == "swg") {
      said.Say(Family::kSwg);
    } else if (text == "mm") {
      said.Say(Family::kMetric);
    } else if (text == "bare") {
      said.Say(Film::kBare);
    } else if (text == "single") {
      said.Say(Film::kSingle);
    } else if (text == "heavy") {
      said.Say(Film::kHeavy);
    } else if (text == "triple") {
      said.Say(Film::kTriple);
    } else if ((text == "grade" || text == "gr" || text == "g") && (next == "1" || next == "2" || next == "3")) {
      said.Say(next == "1" ? Film::kGrade1 : next == "2" ? Film::kGrade2 : Film::kGrade3);
      ++i;
    } else if (text != "build" && text != "film" && text != "wire") {
      said.unclear = true;
    }
  }
  // The film's words, or noughts, tell the system where nothing else does; another number alone could be any.
  const bool noughts = said.size.size() > 1 && (said.size.find_first_not_of('0') == std::string::npos ||
                                                said.size.find("/0") != std::string::npos);
  if (!said.family && said.film && *said.film != Film::kBare) {
    said.family = *said.film >= Film::kGrade1 ? Family::kMetric : Family::kAwg;
  } else if (!said.family && noughts) {
    said.family = Family::kAwg;
  }
  return said;
}

}  // namespace

absl::StatusOr<Wire> Parse(absl::string_view designation) {
  const absl::string_view given = absl::StripAsciiWhitespace(designation);
  if (given.size() > kMostCharacters) return NotUnderstood(given);
  const std::string plain =
      absl::StrReplaceAll(absl::AsciiStrToLower(given), {{",", "."}, {"b&s", "awg"}, {"½", " 1/2"}});
  const auto tokens = Tokens(plain);
  if (!tokens) return NotUnderstood(given);
  Said said = Read(*tokens);
  if (said.unclear || !said.family || said.size.empty()) return NotUnderstood(given);
  if (said.half) {
    if (said.family != Family::kAwg || said.size.find_first_of("./") != std::string::npos) return NotUnderstood(given);
    said.size += ".5";
  }
  std::vector<WireSystem> systems = {WireSystem::kIecR20, WireSystem::kIecR40};
  if (said.family == Family::kAwg) systems = {WireSystem::kAwg};
  if (said.family == Family::kSwg) systems = {WireSystem::kSwg};
  absl::StatusOr<Wire> wire = LookUp(systems, said.size, said.film.value_or(Film::kBare));
  const std::vector<standards::FieldError> errors = standards::FieldErrorsOf(wire.status());
  if (errors.empty()) return wire;
  return standards::InvalidField("wire", Quoted(given), errors.front().accepted);
}

}  // namespace coilwright::wire
