#include <algorithm>
#include <cmath>

#include "absl/strings/str_cat.h"
#include "insulation/input_ranges.h"
#include "standards/range_check.h"
#include "standards/rules.h"
#include "standards/tables.h"
#include "testing/level_tables.h"
#include "testing/withstand.h"

namespace coilwright::testing {
namespace {

using standards::Table;
using standards::WithUnit;

absl::string_view ChoiceKey(const SurgeCase& c) {
  if (!c.form_wound) return "random_wound";
  switch (c.form_wound_rule) {
    case FormWoundSurge::kIec60034_15_2009:
      return "iec60034_15_2009";
    case FormWoundSurge::kIec60034_15_2025Draft:
      return "iec60034_15_2025_draft";
    case FormWoundSurge::kIeee522:
      break;
  }
  return "ieee522";
}

const Table& SurgeTable() {
  static const Table& table = *new Table(standards::EmbeddedTable("surge"));
  return table;
}

bool InRange(int row, double rated_volts) {
  const auto from = SurgeTable().Number(row, "from_volts"), to = SurgeTable().Number(row, "to_volts");
  return !(from && rated_volts < *from) && !(to && rated_volts > *to);
}

// The level of a new winding by one row, and how it came about.
SurgeLevel NewLevel(int row, double rated_volts) {
  const Table& table = SurgeTable();
  const std::string rated = WithUnit(rated_volts, "V");
  SurgeLevel level;
  if (const auto per_unit = table.Number(row, "per_unit")) {
    level.volts_peak = *per_unit * std::sqrt(2.0 / 3.0) * rated_volts;
    level.formula = absl::StrCat(WithUnit(*per_unit, ""), " x sqrt(2/3) x ", rated);
  } else {
    const double share = *table.Number(row, "share");
    const double times = *table.Number(row, "times_rated"), plus = *table.Number(row, "plus_volts");
    level.volts_peak = share * (times * rated_volts + plus);
    const std::string sum = absl::StrCat(WithUnit(times, ""), " x ", rated, " + ", WithUnit(plus, "V"));
    level.formula = share < 1 ? absl::StrCat(WithUnit(share, ""), " x (", sum, ")") : sum;
  }
  absl::StrAppend(&level.formula, " = ", WithUnit(level.volts_peak, "V"), " peak");
  if (const auto least = table.Number(row, "least_volts"); least && level.volts_peak < *least) {
    level.volts_peak = *least;
    absl::StrAppend(&level.formula, ", raised to ", WithUnit(*least, "V"));
  }
  level.rise_time_us = table.Number(row, "rise_time_us").value_or(0);
  level.rule = table.Text(row, "rule");
  return level;
}

}  // namespace

SurgeCase SurgeCaseFor(const WithstandCase& withstand_case, double ac_withstand_volts_rms, bool form_wound,
                       FormWoundSurge form_wound_rule) {
  SurgeCase surge;
  surge.rated_volts = withstand_case.rated_volts;
  surge.form_wound = form_wound;
  surge.ac_withstand_volts_rms = ac_withstand_volts_rms;
  surge.form_wound_rule = form_wound_rule;
  switch (withstand_case.condition) {
    case Condition::kNew:
    case Condition::kFullyRewound:
    case Condition::kProductionTest:
    case Condition::kBeforeTreatment:
      return surge;
    default:
      surge.in_service = true;
  }
  WithstandCase as_new = withstand_case;
  as_new.condition = Condition::kFullyRewound;
  if (const auto level = WithstandLevels(as_new); level.ok()) surge.new_ac_withstand_volts_rms = level->ac.volts;
  return surge;
}

std::optional<std::string> RandomWoundDoubt(double rated_volts) {
  const double usual = Setting("random_wound_usual_most"), most = Setting("random_wound_most");
  if (!(rated_volts > usual)) return std::nullopt;
  const std::string practice = absl::StrCat("common practice: usually to ", WithUnit(usual, "V"), ", some to ",
                                            WithUnit(most, "V"), ", form-wound coils above");
  if (rated_volts > most) {
    return absl::StrCat("random windings are not made for ", WithUnit(rated_volts, "V"), " (", practice,
                        "): look at the coils and the rated volts again before any of these voltages is put on");
  }
  return absl::StrCat("a random winding for ", WithUnit(rated_volts, "V"), " is rare (", practice,
                      "): make sure that it is one");
}

absl::StatusOr<SurgeLevel> SurgeLevelFor(const SurgeCase& surge_case) {
  standards::RangeCheck checks;
  checks.Within("rated_volts", surge_case.rated_volts, insulation::kLeastRatedVolts, insulation::kMostRatedVolts, "V");
  if (!surge_case.form_wound) {
    checks.Above("ac_withstand_volts_rms", surge_case.ac_withstand_volts_rms, 0, 1e6, "V");
  }
  if (!checks.ok()) return checks.status();

  const Table& table = SurgeTable();
  // The editions of IEC 60034-15 are written for new sample coils; a used winding goes by IEEE 522.
  const bool used_form_wound = surge_case.in_service && surge_case.form_wound;
  const int row = RowOf(table, "choice", used_form_wound ? "ieee522" : ChoiceKey(surge_case));
  if (!InRange(row, surge_case.rated_volts)) {
    return absl::FailedPreconditionError(
        absl::StrCat("IEC 60034-15:2009 reaches from ", WithUnit(*table.Number(row, "from_volts"), "V"), " to ",
                     WithUnit(*table.Number(row, "to_volts"), "V"), " and the winding is rated ",
                     WithUnit(surge_case.rated_volts, "V"), ": choose IEEE 522"));
  }
  SurgeLevel level = NewLevel(row, surge_case.rated_volts);
  level.standard = surge_case.form_wound;
  if (surge_case.in_service) {
    const double new_cap = std::sqrt(2.0) * surge_case.new_ac_withstand_volts_rms;
    if (!surge_case.form_wound && new_cap > 0 && level.volts_peak > new_cap) {
      level.volts_peak = new_cap;
      absl::StrAppend(&level.formula, ", new held down to ", WithUnit(new_cap, "V"));
    }
    const double share = *table.Number(row, "in_service_share");
    level.volts_peak *= share;
    absl::StrAppend(&level.formula, "; in service ", WithUnit(100 * share, "%"), ": ", WithUnit(level.volts_peak, "V"));
    level.rule = table.Text(row, "in_service_rule");
    level.standard = level.rule == rules::ieee522_surge_in_service;
  }
  if (!surge_case.form_wound || surge_case.in_service) {
    const double cap = std::sqrt(2.0) * surge_case.ac_withstand_volts_rms;
    if (cap > 0 && level.volts_peak > cap) {
      level.volts_peak = cap;
      level.capped = true;
      level.rule = rules::practice_surge_cap;
      absl::StrAppend(&level.formula, ", held down to ", WithUnit(cap, "V"), ", the peak of the AC withstand test");
    }
  }
  if (!surge_case.form_wound) {
    level.notes.push_back("no standard sets a surge level for low-voltage random windings; this is practice");
    return level;
  }
  for (int other = 0; other < table.rows(); ++other) {
    if (other == row || table.Text(other, "choice") == "random_wound" || !InRange(other, surge_case.rated_volts)) {
      continue;
    }
    const SurgeLevel asked = NewLevel(other, surge_case.rated_volts);
    const standards::Rule* rule = standards::FindRule(asked.rule);
    level.notes.push_back(absl::StrCat(rule->source, " (", rule->edition, ") would ask ", asked.formula, " when new"));
  }
  if (used_form_wound) {
    level.notes.push_back("a used winding: 75 % of the IEEE 522 level; IEC 60034-15 is written for new sample coils");
  } else if (surge_case.form_wound_rule == FormWoundSurge::kIec60034_15_2009) {
    level.notes.push_back(
        "IEC 60034-15:2009 sets the level for sample coils and does not recommend a turn-to-turn "
        "impulse on the complete winding (5.2): a failure there is hard to see");
  }
  return level;
}

}  // namespace coilwright::testing
