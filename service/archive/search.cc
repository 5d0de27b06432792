#include "archive/search.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>

#include "absl/strings/str_cat.h"
#include "archive/rows.h"
#include "archive/terms.h"

namespace coilwright::archive {
namespace {

// The beginning of a word is asked for as the whole words that begin so, each read only as far as needed. With more
// than these it is left to the index, which then reads all of them.
constexpr size_t kMostWholeWords = 60;
// The end of a range that holds more numbers than these is left to its step: so many make a step of alternatives slow,
// and where machines stand that close, as many are within as without.
constexpr size_t kMostDigits = 12;

// Conditions and their parameters as they are put together.
class Where {
 public:
  // The value as the next parameter after `before`.
  template <class T>
  void Add(absl::string_view before, T value) {
    values_.emplace_back(std::move(value));
    absl::StrAppend(&text_, text_.empty() ? "" : " AND ", before, "$", values_.size());
  }
  void Add(absl::string_view condition) { absl::StrAppend(&text_, text_.empty() ? "" : " AND ", condition); }
  void Range(const char* column, const archive::Range& range) {
    if (range.least.has_value()) Add(absl::StrCat(column, " >= "), *range.least);
    if (range.most.has_value()) Add(absl::StrCat(column, " <= "), *range.most);
  }
  void Count(const char* column, const archive::Range& range) {
    constexpr double kMost = 1e9;  // no count comes near; it keeps the conversion from leaving its range
    if (range.least.has_value())
      Add(absl::StrCat(column, " >= "), Whole(std::ceil(std::clamp(*range.least, -kMost, kMost))));
    if (range.most.has_value())
      Add(absl::StrCat(column, " <= "), Whole(std::floor(std::clamp(*range.most, -kMost, kMost))));
  }
  void Enum(const char* column, int number) {
    if (number != 0) Add(absl::StrCat(column, " = "), int64_t{number});
  }
  void Name(const char* column, const std::string& name) {
    if (!name.empty()) Add(absl::StrCat(column, " = "), name);
  }
  const std::string& text() const { return text_; }
  const std::vector<Value>& values() const { return values_; }

 private:
  static int64_t Whole(double value) { return static_cast<int64_t>(value); }
  std::string text_;
  std::vector<Value> values_;
};

// Least text that is greater than all that begin with this one, as bytes compare.
std::string After(std::string beginning) {
  while (!beginning.empty() && static_cast<unsigned char>(beginning.back()) == 0xff) beginning.pop_back();
  if (!beginning.empty()) ++beginning.back();
  return beginning;
}

// Terms of the index from the first to before the last; nothing where there are more than so many. One is sought after
// the other: to walk from one to the next would be to read all that they find.
absl::StatusOr<std::optional<std::vector<Term>>> Listed(Database& db, std::string first, const std::string& before,
                                                        size_t most) {
  std::vector<Term> terms;
  while (true) {
    const auto rows = db.Query("SELECT term FROM term_of WHERE term >= $1 LIMIT 1", {first});
    if (!rows.ok()) return rows.status();
    const std::string term = rows->empty() ? before : Text((*rows)[0][0]);
    if (term >= before) return std::optional<std::vector<Term>>(std::move(terms));
    if (terms.size() == most) return std::nullopt;
    terms.push_back({term, false, "", ""});
    first = absl::StrCat(term, " ");  // a blank stands before all that a term can go on with
  }
}

// Puts terms of the store in the place of beginnings and of the ends of ranges.
absl::Status SpellOut(Database& db, TermQuery& query) {
  for (std::vector<Term>& any : query) {
    std::vector<Term> spelt;
    for (Term& term : any) {
      absl::StatusOr<std::optional<std::vector<Term>>> listed = std::nullopt;
      if (term.beginning) listed = Listed(db, term.text, After(term.text), kMostWholeWords);
      if (!term.first.empty()) listed = Listed(db, term.first, After(term.last), kMostDigits);
      if (!listed.ok()) return listed.status();
      if (listed->has_value()) {
        spelt.insert(spelt.end(), (*listed)->begin(), (*listed)->end());
      } else {
        spelt.push_back(std::move(term));
      }
    }
    any = std::move(spelt);
  }
  return absl::OkStatus();
}

void ExactConditions(const Query& query, Where& where) {
  if (!query.deleted_too) where.Add("r.deleted = 0");
  where.Name("r.parent", query.parent);
  where.Name("r.serial", query.serial);
  where.Enum("r.machine_kind", query.machine_kind);
  where.Enum("r.verdict", query.verdict);
  where.Enum("r.stage", query.stage);
  where.Count("r.slots", query.slots);
  where.Count("r.poles", query.poles);
  where.Range("r.rated_volts", query.rated_volts);
  where.Range("r.rated_kw", query.rated_kw);
  where.Range("r.speed_rpm", query.speed_rpm);
  where.Range("r.bore_mm", query.bore_mm);
  where.Range("r.outer_mm", query.outer_mm);
  where.Range("r.stack_length_mm", query.stack_length_mm);
}

// The text index gives rows in the order of their ids, newest or oldest first, only as far as they are taken: CROSS
// JOIN holds SQLite to reading it first.
std::string Tables(Dialect dialect, bool by_terms) {
  if (by_terms && dialect == Dialect::kSqlite) {
    return "found_by CROSS JOIN resource r ON r.id = found_by.rowid CROSS JOIN entry e ON e.sequence = r.sequence";
  }
  return "resource r JOIN entry e ON e.sequence = r.sequence";
}

}  // namespace

absl::StatusOr<Found> Search(Database& db, const Query& query) {
  const bool sqlite = db.dialect() == Dialect::kSqlite;
  TermQuery terms = TermsFor(query);
  if (sqlite) {
    if (absl::Status spelt = SpellOut(db, terms); !spelt.ok()) return spelt;
  }
  if (std::any_of(terms.begin(), terms.end(), [](const auto& any) { return any.empty(); })) return Found();

  Where where;
  if (!terms.empty()) {
    if (sqlite) {
      where.Add("found_by MATCH ", Fts5Text(terms));
    } else {
      where.Add("r.terms @@ ", TsQueryText(terms));
    }
  }
  const std::string id = sqlite && !terms.empty() ? "found_by.rowid" : "r.id";
  if (query.after != 0) where.Add(absl::StrCat(id, query.oldest_first ? " > " : " < "), query.after);
  // The sum keeps SQLite from taking the index over kinds where one over parents finds less.
  where.Add(query.parent.empty() ? "r.kind = " : "r.kind + 0 = ", static_cast<int64_t>(query.kind));
  ExactConditions(query, where);
  // One more than asked for tells whether there is a next page.
  std::vector<Value> values = where.values();
  values.emplace_back(int64_t{query.most} + 1);
  auto rows = db.Query(
      absl::StrCat("SELECT ", kEntryColumns, ", r.id FROM ", Tables(db.dialect(), !terms.empty()), " WHERE ",
                   where.text(), " ORDER BY ", id, query.oldest_first ? " ASC" : " DESC", " LIMIT $", values.size()),
      values);
  if (!rows.ok()) return rows.status();
  Found found;
  for (Row& row : *rows) {
    if (found.entries.size() == static_cast<size_t>(query.most)) break;
    const int64_t last = Int(row.back());
    found.entries.push_back(EntryOf(std::move(row)));
    found.next = last;
  }
  if (rows->size() <= found.entries.size()) found.next = 0;
  return found;
}

absl::StatusOr<std::vector<Facts>> SearchNear(Database& db, const Near& near) {
  // PostgreSQL takes a parameter's type from what it is first compared with: 0.0, not 0, beside a length.
  // Both ways from the bore along the index, which holds all that is compared; rows are read only of what is answered.
  const std::string alike =
      "r.kind = 1 AND r.deleted = 0 AND r.slots = $1 AND ($5 = 0 OR r.machine_kind = 0 OR r.machine_kind = $5) AND "
      "($6 = 0 OR r.poles IS NULL OR r.poles = $6) AND "
      "($7 <= 0.0 OR r.outer_mm IS NULL OR (r.outer_mm >= $7 AND r.outer_mm <= $8)) AND "
      "($9 <= 0.0 OR r.stack_length_mm IS NULL OR (r.stack_length_mm >= $9 AND r.stack_length_mm <= $10))";
  const std::string sql =
      absl::StrCat("SELECT ", kFactColumns,
                   " FROM (SELECT b.id, b.far FROM (SELECT * FROM (SELECT r.id AS id, r.bore_mm / $2 AS far FROM "
                   "resource r WHERE ",
                   alike,
                   " AND r.bore_mm >= $2 AND r.bore_mm <= $4 ORDER BY r.bore_mm ASC LIMIT $11) up UNION ALL "
                   "SELECT * FROM (SELECT r.id AS id, $2 / r.bore_mm AS far FROM resource r WHERE ",
                   alike,
                   " AND r.bore_mm < $2 AND r.bore_mm >= $3 ORDER BY r.bore_mm DESC LIMIT $11) down) b ORDER BY b.far, "
                   "b.id LIMIT $11) c "
                   "JOIN resource r ON r.id = c.id ORDER BY c.far, c.id");
  const double outer = near.outer_mm.value_or(0), stack = near.stack_length_mm.value_or(0);
  const auto rows =
      db.Query(sql, {int64_t{near.slots}, near.bore_mm, near.bore_mm / near.bore_ratio, near.bore_mm * near.bore_ratio,
                     int64_t{near.machine_kind}, int64_t{near.poles.value_or(0)}, outer / near.outer_ratio,
                     outer * near.outer_ratio, stack / near.stack_ratio, stack * near.stack_ratio, int64_t{near.most}});
  if (!rows.ok()) return rows.status();
  std::vector<Facts> found;
  for (const Row& row : *rows) found.push_back(FactsOf(row));
  return found;
}

}  // namespace coilwright::archive
