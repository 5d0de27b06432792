#include "testing/withstand.h"

#include <algorithm>
#include <iterator>
#include <utility>

#include "absl/strings/str_cat.h"
#include "insulation/input_ranges.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "standards/tables.h"
#include "testing/level_tables.h"

namespace coilwright::testing {
namespace {

using standards::EmbeddedTable;
using standards::Table;
using standards::WithUnit;

constexpr Family kFamilies[] = {Family::kIec60034, Family::kNemaMg1, Family::kAr100};
constexpr Condition kConditions[] = {Condition::kNew,
                                     Condition::kFullyRewound,
                                     Condition::kPartlyRewound,
                                     Condition::kReconditioned,
                                     Condition::kRepeat,
                                     Condition::kProductionTest,
                                     Condition::kAfterInstallation,
                                     Condition::kBeforeTreatment,
                                     Condition::kNotReconditioned};

absl::string_view FamilyKey(Family family) {
  switch (family) {
    case Family::kIec60034:
      return "iec";
    case Family::kNemaMg1:
      return "nema";
    case Family::kAr100:
      break;
  }
  return "ar100";
}

absl::string_view ConditionKey(Condition condition) {
  switch (condition) {
    case Condition::kNew:
      return "new";
    case Condition::kFullyRewound:
      return "fully_rewound";
    case Condition::kPartlyRewound:
      return "partly_rewound";
    case Condition::kReconditioned:
      return "reconditioned";
    case Condition::kRepeat:
      return "repeat";
    case Condition::kProductionTest:
      return "production_test";
    case Condition::kAfterInstallation:
      return "after_installation";
    case Condition::kBeforeTreatment:
      return "before_treatment";
    case Condition::kNotReconditioned:
      break;
  }
  return "not_reconditioned";
}

// The entry of `all` that a table calls `key`; tables are covered by tests, so there is one.
template <typename T, size_t n>
T Named(absl::string_view key, const T (&all)[n], absl::string_view (*key_of)(T)) {
  return *std::find_if(std::begin(all), std::end(all), [&](T one) { return key_of(one) == key; });
}

// Both tables are asked three times in every call, once per family, so their rows are read once.
struct NewWindingRow {
  Family family;
  Rating volts, kw;
  double times_rated, plus_volts, least_volts;
  absl::string_view rule;
};

const std::vector<NewWindingRow>& NewWindingRows() {
  static const std::vector<NewWindingRow>& all = *[] {
    static const Table& table = *new Table(EmbeddedTable("withstand"));
    auto* rows = new std::vector<NewWindingRow>;
    for (int row = 0; row < table.rows(); ++row) {
      rows->push_back(
          {Named(table.Text(row, "family"), kFamilies, FamilyKey), RatingOf(table, row, "below_volts", "up_to_volts"),
           RatingOf(table, row, "power_below_kw", "power_up_to_kw"), *table.Number(row, "times_rated"),
           *table.Number(row, "plus_volts"), table.Number(row, "least_volts").value_or(0), table.Text(row, "rule")});
    }
    return rows;
  }();
  return all;
}

struct ConditionRow {
  Family family;
  Condition condition;
  Rating volts;
  std::optional<double> share, times_rated;  // neither: the family sets no level
  double least_volts;
  absl::string_view rule, reason;
};

const std::vector<ConditionRow>& ConditionRows() {
  static const std::vector<ConditionRow>& all = *[] {
    static const Table& table = *new Table(EmbeddedTable("withstand_condition"));
    auto* rows = new std::vector<ConditionRow>;
    for (int row = 0; row < table.rows(); ++row) {
      rows->push_back({Named(table.Text(row, "family"), kFamilies, FamilyKey),
                       Named(table.Text(row, "condition"), kConditions, ConditionKey),
                       RatingOf(table, row, "below_volts", ""), table.Number(row, "share"),
                       table.Number(row, "times_rated"), table.Number(row, "least_volts").value_or(0),
                       table.Text(row, "rule"), table.Text(row, "reason")});
    }
    return rows;
  }();
  return all;
}

// "2 x 230 V + 1000 V = 1460 V, raised to 1500 V" and its value.
struct Sum {
  double volts = 0;
  std::string formula;
};

Sum Linear(double times, double rated_volts, double plus, double least) {
  const double sum = times * rated_volts + plus;
  Sum result{std::max(sum, least), {}};
  result.formula.reserve(64);
  if (times > 0) result.formula = absl::StrCat(WithUnit(times, ""), " x ", WithUnit(rated_volts, "V"));
  if (times > 0 && plus > 0) absl::StrAppend(&result.formula, " + ", WithUnit(plus, "V"));
  if (times > 0) absl::StrAppend(&result.formula, " = ");
  absl::StrAppend(&result.formula, WithUnit(sum, "V"));
  if (sum < least) absl::StrAppend(&result.formula, ", raised to ", WithUnit(least, "V"));
  return result;
}

// One minute on a new winding. An unknown power fits every row with a limit on power; the highest level wins.
absl::StatusOr<Level> NewWinding(const WithstandCase& c) {
  Level level;
  std::optional<double> smaller_machine_volts;  // rows run from small machines to large
  for (const NewWindingRow& row : NewWindingRows()) {
    if (row.family != c.family || !row.volts.Fits(c.rated_volts)) continue;
    if (c.rated_kw && !row.kw.Fits(*c.rated_kw)) continue;
    Sum sum = Linear(row.times_rated, c.rated_volts, row.plus_volts, row.least_volts);
    if (!level.applicable || sum.volts > level.volts) {
      if (level.applicable) smaller_machine_volts = level.volts;
      level = {sum.volts, true, 0, std::move(sum.formula), row.rule, ""};
    }
    if (c.rated_kw || !row.kw.limited()) break;
  }
  if (!level.applicable) {
    return absl::FailedPreconditionError(absl::StrCat(FamilyName(c.family),
                                                      " leaves the withstand voltage of a winding of ",
                                                      WithUnit(c.rated_volts, "V"), " and this power to agreement"));
  }
  if (smaller_machine_volts) {
    level.reason = absl::StrCat("rated power unknown: the higher level is taken; a small machine would get ",
                                WithUnit(*smaller_machine_volts, "V"));
  }
  static const double hold_seconds = Procedure("hold");
  level.seconds = hold_seconds;
  return level;
}

// The level of a condition; `rules` names what it rests on, the deciding rule first.
struct AcLevel {
  Level level;
  std::vector<absl::string_view> rules;
};

absl::StatusOr<AcLevel> LevelOf(const WithstandCase& c) {
  auto new_winding = NewWinding(c);
  if (!new_winding.ok()) return new_winding.status();
  for (const ConditionRow& row : ConditionRows()) {
    if (row.family != c.family || row.condition != c.condition || !row.volts.Fits(c.rated_volts)) continue;
    if (!row.share && !row.times_rated) return absl::FailedPreconditionError(row.reason);
    AcLevel result{*std::move(new_winding), {}};
    Level& level = result.level;
    if (row.times_rated) {
      Sum sum = Linear(*row.times_rated, c.rated_volts, 0, row.least_volts);
      level = {sum.volts, true, level.seconds, std::move(sum.formula), row.rule, ""};
      result.rules = {row.rule};
      return result;
    }
    result.rules = {level.rule};
    if (!row.rule.empty()) result.rules.push_back(row.rule);
    if (*row.share == 1) return result;
    level.volts *= *row.share;
    level.formula =
        absl::StrCat(WithUnit(100 * *row.share, "%"), " of (", level.formula, ") = ", WithUnit(level.volts, "V"));
    level.rule = row.rule;
    return result;
  }
  return absl::FailedPreconditionError(absl::StrCat(FamilyName(c.family), " has no level for this condition"));
}

struct DcRow {
  double factor = 0;
  std::optional<double> from_volts;  // allowed from this rating on
  absl::string_view rule;
  bool Allows(double rated_volts) const { return !from_volts || rated_volts >= *from_volts; }
};

const DcRow& DcRowOf(Family family) {
  static const std::vector<DcRow>& rows = *[] {
    static const Table& table = *new Table(EmbeddedTable("withstand_dc"));
    auto* by_family = new std::vector<DcRow>;
    for (const Family one : kFamilies) {
      const int row = RowOf(table, "family", FamilyKey(one));
      by_family->push_back({*table.Number(row, "factor"), table.Number(row, "from_volts"), table.Text(row, "rule")});
    }
    return by_family;
  }();
  return rows[static_cast<size_t>(family)];
}

std::string WhyNoDc(Family family) {
  return absl::StrCat(FamilyName(family), " allows DC from ", WithUnit(*DcRowOf(family).from_volts, "V"), " rated on");
}

Level DcLevel(const WithstandCase& c, const Level& ac) {
  const DcRow& row = DcRowOf(c.family);
  if (!row.Allows(c.rated_volts)) return {0, false, 0, "", row.rule, WhyNoDc(c.family)};
  const double volts = row.factor * ac.volts;
  return {volts,
          true,
          ac.seconds,
          absl::StrCat(WithUnit(row.factor, ""), " x ", WithUnit(ac.volts, "V"), " = ", WithUnit(volts, "V")),
          row.rule,
          row.from_volts ? "by agreement, where no AC set is available" : "in place of the AC test, never after it"};
}

Level OneSecond(const WithstandCase& c, const Level& ac) {
  static const Table& table = *new Table(EmbeddedTable("withstand_short"));
  Level level;
  level.reason = absl::StrCat(FamilyName(c.family), " has no one-second test for this condition");
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, "family") != FamilyKey(c.family) || table.Text(row, "condition") != ConditionKey(c.condition)) {
      continue;
    }
    level.rule = table.Text(row, "rule");
    const auto above = [&](absl::string_view column, double value) {
      const auto most = table.Number(row, column);
      return most && value > *most;
    };
    if (table.Number(row, "power_up_to_kw") && !c.rated_kw) {
      level.reason = "rated power unknown: the one-second test is for small machines only";
    } else if (above("power_up_to_kw", c.rated_kw.value_or(0)) || above("rated_up_to_volts", c.rated_volts) ||
               above("level_up_to_volts", ac.volts)) {
      level.reason = "too large for the one-second test: hold the full minute";
    } else {
      const double factor = *table.Number(row, "factor");
      level.volts = factor * ac.volts;
      level.applicable = true;
      level.seconds = *table.Number(row, "seconds");
      level.formula =
          absl::StrCat(WithUnit(factor, ""), " x ", WithUnit(ac.volts, "V"), " = ", WithUnit(level.volts, "V"));
      level.reason = "in place of the one-minute test";
    }
  }
  return level;
}

std::string WhatAnotherAsks(WithstandCase c, Family family) {
  c.family = family;
  const auto asked = LevelOf(c);
  if (!asked.ok()) return absl::StrCat(FamilyName(family), ": ", asked.status().message());
  const DcRow& dc = DcRowOf(family);
  return absl::StrCat(
      FamilyName(family), " would ask ", WithUnit(asked->level.volts, "V"), " (", asked->level.formula, "); ",
      dc.Allows(c.rated_volts) ? absl::StrCat("DC instead: ", WithUnit(dc.factor * asked->level.volts, "V"))
                               : WhyNoDc(family));
}

}  // namespace

absl::string_view FamilyName(Family family) {
  switch (family) {
    case Family::kIec60034:
      return "IEC 60034-1";
    case Family::kNemaMg1:
      return "NEMA MG 1";
    case Family::kAr100:
      break;
  }
  return "ANSI/EASA AR100";
}

absl::StatusOr<Withstand> WithstandLevels(const WithstandCase& withstand_case) {
  standards::RangeCheck checks;
  checks.Within("rated_volts", withstand_case.rated_volts, insulation::kLeastRatedVolts, insulation::kMostRatedVolts,
                "V");
  if (withstand_case.rated_kw) checks.Above("rated_kw", *withstand_case.rated_kw, 0, insulation::kMostRatedKw, "kW");
  if (!checks.ok()) return checks.status();

  auto ac = LevelOf(withstand_case);
  if (!ac.ok()) return ac.status();
  Withstand withstand;
  withstand.dc = DcLevel(withstand_case, ac->level);
  withstand.ac_one_second = OneSecond(withstand_case, ac->level);
  withstand.ac = std::move(ac->level);
  if (!withstand.ac.reason.empty()) withstand.notes.push_back(withstand.ac.reason);
  withstand.notes.reserve(std::size(kFamilies));
  for (const Family family : kFamilies) {
    if (family != withstand_case.family) withstand.notes.push_back(WhatAnotherAsks(withstand_case, family));
  }
  withstand.rules = std::move(ac->rules);
  withstand.rules.push_back(rules::iec60034_1_withstand_procedure);
  for (const Level* level : {&withstand.dc, &withstand.ac_one_second}) {
    if (level->applicable) withstand.rules.push_back(level->rule);
  }
  return withstand;
}

absl::StatusOr<AccessoryWithstand> AccessoryLevels(Accessory accessory, Family family) {
  if (accessory == Accessory::kElectronics) {
    return absl::FailedPreconditionError(
        "electronics never see a test voltage: encoders, Hall boards and rectifiers come off first");
  }
  static const Table& table = *new Table(EmbeddedTable("withstand_accessory"));
  const int row = RowOf(table, "family", FamilyKey(family));
  if (row < 0) {
    return absl::FailedPreconditionError(
        "the value of IEC 60034-1 for parts in contact with the winding is unverified, so none is offered; measure the "
        "resistance only, or choose NEMA MG 1 or ANSI/EASA AR100");
  }
  return AccessoryWithstand{*table.Number(row, "volts_ac"), *table.Number(row, "volts_dc"), table.Text(row, "rule")};
}

absl::StatusOr<MaintenanceLevel> MaintenanceLevels(double rated_volts) {
  standards::RangeCheck checks;
  checks.Within("rated_volts", rated_volts, insulation::kLeastRatedVolts, insulation::kMostRatedVolts, "V");
  if (!checks.ok()) return checks.status();
  return MaintenanceLevel{Procedure("maintenance_low") * rated_volts, Procedure("maintenance_high") * rated_volts,
                          rules::ieee432_maintenance_level};
}

}  // namespace coilwright::testing
