#include "words.h"

#include <algorithm>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "enum_text.h"
#include "print/figures.h"

namespace coilwright {
namespace {

using print::Figures;

// A ratio is a number by itself.
std::string WithUnit(double value, const std::string& unit) {
  return absl::StrCat(Figures(value), unit.empty() || unit == "ratio" ? "" : " ", unit == "ratio" ? "" : unit);
}

std::string At(const std::string& text, const std::string& corrected_to) {
  return corrected_to.empty() ? text : absl::StrCat(text, " at ", corrected_to);
}

std::string Read(double value, const v1::JudgedTest& test) {
  return absl::StrCat(test.at_least() ? "at least " : "", WithUnit(value, test.unit()));
}

}  // namespace

bool MayBeWound(const v1::RecordCheck& check) {
  return check.verdict() != v1::CHECK_VERDICT_EXPLAINED && check.verdict() != v1::CHECK_VERDICT_UNEXPLAINED;
}

bool MayBeWound(const v1::PlanRewindResponse& plan) {
  return MayBeWound(plan.record_check()) &&
         std::none_of(plan.findings_planned().begin(), plan.findings_planned().end(),
                      [](const v1::Finding& finding) { return finding.level() == v1::FINDING_LEVEL_ACT; });
}

const v1::WindingOption* WoundOption(const v1::PlanRewindRequest& request, const v1::PlanRewindResponse& plan) {
  return plan.options().empty() ? nullptr : &plan.options(request.has_way() ? request.way() - 1 : 0);
}

std::string CircuitWords(int circuits) {
  return absl::StrCat(circuits, circuits == 1 ? " circuit" : " parallel circuits");
}

std::string ConnectionWords(v1::Connection connection, int circuits) {
  return absl::StrCat(EnumText(connection), ", ", CircuitWords(circuits));
}

std::string GroupWords(const v1::CoilGroup& group) {
  std::vector<std::string> coils;
  for (const v1::GroupCoil& coil : group.coils())
    coils.push_back(absl::StrCat(coil.turns(), " turns over ", coil.span_slots(), " slots"));
  return absl::StrCat(group.count(), group.count() == 1 ? " group: " : " groups: ", absl::StrJoin(coils, ", "));
}

std::string CoilWords(const v1::PatternSummary& pattern) {
  return absl::StrCat(pattern.coils(), " coils, ", EnumText(pattern.coil_form()), ", ", EnumText(pattern.layers()),
                      " layer");
}

std::string PitchWords(const v1::PatternSummary& pattern) {
  return absl::StrCat(Figures(pattern.mean_pitch_slots()), pattern.mean_pitch_slots() == 1 ? " slot" : " slots",
                      pattern.throw_text().empty() ? "" : absl::StrCat(", throw ", pattern.throw_text()));
}

std::string StrandWords(const v1::StrandChoice& choice) {
  std::vector<std::string> sizes;
  for (const v1::ChosenStrand& strand : choice.strands())
    sizes.push_back(absl::StrCat(strand.wires_in_hand(), " x ", strand.designation()));
  return absl::StrJoin(sizes, " + ");
}

std::string PlateWords(const std::string& maker, const std::string& model, const std::string& serial,
                       const std::string& frame) {
  std::vector<std::string> words;
  for (const std::string& text : {maker, model, serial.empty() ? "" : absl::StrCat("serial ", serial),
                                  frame.empty() ? "" : absl::StrCat("frame ", frame)}) {
    if (!text.empty()) words.push_back(text);
  }
  return absl::StrJoin(words, ", ");
}

std::string PlateWords(const v1::Nameplate& plate) {
  return PlateWords(plate.maker_text(), plate.model_text(), plate.serial_text(), plate.frame_text());
}

std::string LevelWords(double volts, v1::VoltageShape shape) {
  return absl::StrCat(Figures(volts), " V",
                      shape == v1::VOLTAGE_SHAPE_UNSPECIFIED ? "" : absl::StrCat(" ", EnumText(shape)));
}

std::string LimitWords(const v1::AcceptanceLimit& limit) {
  switch (limit.kind()) {
    case v1::LIMIT_KIND_AT_LEAST:
      return At(absl::StrCat("at least ", WithUnit(limit.low(), limit.unit())), limit.corrected_to());
    case v1::LIMIT_KIND_AT_MOST:
      return At(absl::StrCat("at most ", WithUnit(limit.high(), limit.unit())), limit.corrected_to());
    case v1::LIMIT_KIND_WITHIN:
      return At(absl::StrCat(Figures(limit.low()), " to ", WithUnit(limit.high(), limit.unit())), limit.corrected_to());
    case v1::LIMIT_KIND_NO_LIMIT_IN_STANDARD:
      return "no limit in the standard";
    case v1::LIMIT_KIND_NOT_APPLICABLE:
      return "not applicable";
    default:
      return "";
  }
}

std::string TestWords(const v1::JudgedTest& test) {
  return test.label().empty() ? test.title() : absl::StrCat(test.title(), " (", test.label(), ")");
}

bool IsWithstand(const v1::JudgedTest& test) {
  return test.kind() == v1::TEST_KIND_WITHSTAND_AC || test.kind() == v1::TEST_KIND_WITHSTAND_DC;
}

std::string AskedWords(const v1::JudgedTest& test) {
  const v1::AcceptanceLimit& limit = test.limit();
  if (test.kind() == v1::TEST_KIND_SURGE && limit.kind() == v1::LIMIT_KIND_AT_MOST)
    return absl::StrCat("waves alike within ", print::Percent(limit.high()));
  if (!IsWithstand(test) || limit.text().empty()) return LimitWords(limit);
  return limit.kind() == v1::LIMIT_KIND_NO_LIMIT_IN_STANDARD ? limit.text()
                                                             : absl::StrCat(limit.text(), ": ", LimitWords(limit));
}

std::string AsReadWords(const v1::JudgedTest& test) { return test.has_as_read() ? Read(test.as_read(), test) : ""; }

std::string CorrectedWords(const v1::JudgedTest& test) {
  return test.has_corrected() ? At(Read(test.corrected(), test), test.corrected_to()) : "";
}

std::string MissingWords(const v1::JudgeReadingsResponse& judged) {
  std::vector<std::string> missing;
  for (const v1::MissingTest& test : judged.missing())
    missing.push_back(absl::StrCat(test.title(), test.decides() ? " (decides)" : ""));
  return missing.empty() ? "" : absl::StrCat("not read of this stage: ", absl::StrJoin(missing, ", "));
}

}  // namespace coilwright
