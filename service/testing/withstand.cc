#include "testing/withstand.h"

#include <algorithm>

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

// "2 x 230 V + 1000 V = 1460 V, raised to 1500 V" and its value.
struct Sum {
  double volts = 0;
  std::string formula;
};

Sum Linear(double times, double rated_volts, double plus, double least) {
  const double sum = times * rated_volts + plus;
  Sum result{std::max(sum, least), {}};
  if (times > 0) result.formula = absl::StrCat(WithUnit(times, ""), " x ", WithUnit(rated_volts, "V"));
  if (times > 0 && plus > 0) absl::StrAppend(&result.formula, " + ", WithUnit(plus, "V"));
  if (times > 0) absl::StrAppend(&result.formula, " = ");
  absl::StrAppend(&result.formula, WithUnit(sum, "V"));
  if (sum < least) absl::StrAppend(&result.formula, ", raised to ", WithUnit(least, "V"));
  return result;
}

// One minute on a new winding. An unknown power fits every row with a limit on power; the highest level wins.
absl::StatusOr<Level> NewWinding(const WithstandCase& c) {
  static const Table& table = *new Table(EmbeddedTable("withstand"));
  Level level;
  std::optional<double> smaller_machine_volts;  // rows run from small machines to large
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, "family") != FamilyKey(c.family) ||
        !RatingFits(table, row, c.rated_volts, "below_volts", "up_to_volts")) {
      continue;
    }
    const bool by_power = table.Number(row, "power_below_kw") || table.Number(row, "power_up_to_kw");
    if (c.rated_kw && !RatingFits(table, row, *c.rated_kw, "power_below_kw", "power_up_to_kw")) continue;
    const Sum sum = Linear(*table.Number(row, "times_rated"), c.rated_volts, *table.Number(row, "plus_volts"),
                           table.Number(row, "least_volts").value_or(0));
    if (!level.applicable || sum.volts > level.volts) {
      if (level.applicable) smaller_machine_volts = level.volts;
      level = {sum.volts, true, 0, sum.formula, table.Text(row, "rule"), ""};
    }
    if (c.rated_kw || !by_power) break;
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
  level.seconds = Procedure("hold");
  return level;
}

// The level of a condition; `rules` names what it rests on, the deciding rule first.
struct AcLevel {
  Level level;
  std::vector<absl::string_view> rules;
};

absl::StatusOr<AcLevel> LevelOf(const WithstandCase& c) {
  const auto new_winding = NewWinding(c);
  if (!new_winding.ok()) return new_winding.status();
  static const Table& table = *new Table(EmbeddedTable("withstand_condition"));
  for (int row = 0; row < table.rows(); ++row) {
    if (table.Text(row, "family") != FamilyKey(c.family) || table.Text(row, "condition") != ConditionKey(c.condition) ||
        !RatingFits(table, row, c.rated_volts, "below_volts", "")) {
      continue;
    }
    const absl::string_view rule = table.Text(row, "rule");
    const auto share = table.Number(row, "share"), times = table.Number(row, "times_rated");
    AcLevel result{*new_winding, {new_winding->rule}};
    Level& level = result.level;
    if (share) {
      if (!rule.empty()) result.rules.push_back(rule);
      if (*share == 1) return result;
      level.volts *= *share;
      level.formula =
          absl::StrCat(WithUnit(100 * *share, "%"), " of (", level.formula, ") = ", WithUnit(level.volts, "V"));
      level.rule = rule;
    } else if (times) {
      const Sum sum = Linear(*times, c.rated_volts, 0, *table.Number(row, "least_volts"));
      result = {{sum.volts, true, level.seconds, sum.formula, rule, ""}, {rule}};
    } else {
      return absl::FailedPreconditionError(table.Text(row, "reason"));
    }
    return result;
  }
  return absl::FailedPreconditionError(absl::StrCat(FamilyName(c.family), " has no level for this condition"));
}

Level DcLevel(const WithstandCase& c, const Level& ac) {
  static const Table& table = *new Table(EmbeddedTable("withstand_dc"));
  const int row = RowOf(table, "family", FamilyKey(c.family));
  const double factor = *table.Number(row, "factor");
  const double volts = factor * ac.volts;
  const auto from = table.Number(row, "from_volts");
  Level dc{0, false, 0, "", table.Text(row, "rule"), ""};
  if (from && c.rated_volts < *from) {
    dc.reason = absl::StrCat(FamilyName(c.family), " allows DC from ", WithUnit(*from, "V"), " rated on");
    return dc;
  }
  dc.volts = volts;
  dc.applicable = true;
  dc.seconds = ac.seconds;
  dc.formula = absl::StrCat(WithUnit(factor, ""), " x ", WithUnit(ac.volts, "V"), " = ", WithUnit(volts, "V"));
  dc.reason = from ? "by agreement, where no AC set is available" : "in place of the AC test, never after it";
  return dc;
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
  const Level dc = DcLevel(c, asked->level);
  return absl::StrCat(FamilyName(family), " would ask ", WithUnit(asked->level.volts, "V"), " (", asked->level.formula,
                      "); ", dc.applicable ? absl::StrCat("DC instead: ", WithUnit(dc.volts, "V")) : dc.reason);
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

  const auto ac = LevelOf(withstand_case);
  if (!ac.ok()) return ac.status();
  Withstand withstand;
  withstand.ac = ac->level;
  withstand.dc = DcLevel(withstand_case, ac->level);
  withstand.ac_one_second = OneSecond(withstand_case, ac->level);
  if (!withstand.ac.reason.empty()) withstand.notes.push_back(withstand.ac.reason);
  for (const Family family : kFamilies) {
    if (family != withstand_case.family) withstand.notes.push_back(WhatAnotherAsks(withstand_case, family));
  }
  withstand.rules = ac->rules;
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
