#include <algorithm>
#include <cmath>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "plan/check_steps.h"

namespace coilwright::plan {
namespace {

constexpr double kMostSeparation = 20;

// What can be looked at again to see a value for itself, gentlest first, with the standard deviation of doing so.
struct Look {
  Value value;
  const char* what;
  double sigma;
};
constexpr Look kLooks[] = {{kVolts, "rated voltage on the plate", 0.03},
                           {kHertz, "frequency on the plate", 0.03},
                           {kAmps, "rated current on plate and data sheet", 0.03},
                           {kPoles, "number of poles", 0.05},
                           {kKelvin, "resistance with the winding at a known temperature", 0.02},
                           {kOhms, "resistance from lead to lead", 0.02},
                           {kVoltsConstant, "voltage constant", 0.03},
                           {kTorqueNm, "rated torque on plate and data sheet", 0.03},
                           {kDelta, "connection", 0.06},
                           {kCircuits, "parallel circuits", 0.04},
                           {kWires, "wires in hand", 0.04},
                           {kCoils, "coil sides in a slot", 0.04},
                           {kPitch, "coil pitch", 0.02},
                           {kTurns, "turns of a coil of another group", 0.04},
                           {kDiameter, "bare wire diameter", 0.015},
                           {kResistivity, "metal of the wire", 0.05},
                           {kKg, "what was on the scale", 0.01}};

Shift ShiftOf(const Hypothesis& h, const std::vector<Slip>& slips) {
  Shift shift{};
  for (const int index : {h.first, h.second}) {
    if (index < 0) continue;
    for (size_t v = 0; v < kValues; ++v) shift[v] += slips[static_cast<size_t>(index)].shift[v];
  }
  return shift;
}

std::string LookFor(Value value, const Hypothesis& one, const Hypothesis& other, const std::vector<Slip>& slips) {
  for (const int index : {one.first, one.second, other.first, other.second}) {
    if (index >= 0 && slips[static_cast<size_t>(index)].shift[value] != 0)
      return slips[static_cast<size_t>(index)].look;
  }
  return "";
}

constexpr absl::string_view kAtTheCoilEnds =
    "read again at the ends of the coils, or measure what the leads add and record it as leads_ohms";

std::optional<NextMeasurement> NextFor(const Record& record, const Model& model, Moment moment, const Hypothesis& one,
                                       const Hypothesis& other, const std::vector<Slip>& slips) {
  const Shift a = ShiftOf(one, slips), b = ShiftOf(other, slips);
  NextMeasurement best;
  const auto consider = [&](double difference, double sigma, absl::string_view what, std::string how) {
    const double separation = std::min(kMostSeparation, std::abs(difference) / sigma);
    if (separation <= best.separation_sigmas) return;
    best = {std::string(what), std::move(how), separation};
  };
  // Of looks that tell equally well, first that at what the likelier of the two accuses.
  for (const bool accused : {true, false}) {
    for (const Look& look : kLooks) {
      if ((a[look.value] != 0) != accused) continue;
      consider(a[look.value] - b[look.value], look.sigma, look.what, LookFor(look.value, one, other, slips));
    }
  }
  constexpr double kResistanceSigma = 0.035, kMassSigma = 0.04;
  if (!record.resistance) {
    consider(one.effect[kResistance] - other.effect[kResistance], kResistanceSigma, "line-to-line resistance",
             "four wires, lead to lead, with the temperature of the winding");
  }
  if (model.ohms && model.ohms->LeadsHide()) {
    consider(one.effect[kResistance] - other.effect[kResistance], model.ohms->CoilSigma(),
             "resistance of the coils alone", std::string(kAtTheCoilEnds));
  }
  // Nothing is stripped to tell two slips apart: what was stripped already may be weighed.
  if (!record.mass && moment == Moment::kStripped) {
    consider(one.effect[kMass] - other.effect[kMass], kMassSigma, "copper mass",
             "weigh what was stripped; say whether film, resin or leads are on the scale");
  }
  if (best.separation_sigmas < 2) return std::nullopt;
  return best;
}

}  // namespace

std::vector<std::string> StillToRecord(const Record& record, const Model& model, Moment moment) {
  std::vector<std::string> missing;
  if (!record.resistance || record.resistance->line_to_line_ohms.size() < 3) {
    missing.push_back("resistance between all three pairs of leads, with the temperature of the winding");
  }
  if (model.ohms && model.ohms->LeadsHide()) {
    missing.push_back(absl::StrCat("resistance of the coils alone, as leads may hide a slip: ", kAtTheCoilEnds));
  }
  if (record.kind == MachineKind::kPermanentMagnet && !record.measured_ke_ll_rms_v_per_krpm) {
    missing.push_back("voltage constant, driven at a known speed before the winding is cut");
  }
  if (moment == Moment::kIntact && !record.inductance) {
    missing.push_back(
        "line-to-line inductance, least and greatest over a pole pitch: to compare the rewound winding by");
  }
  if (moment == Moment::kIntact) return missing;
  const bool repeated = std::any_of(record.evidence.begin(), record.evidence.end(), [](const FieldEvidence& e) {
    return absl::StartsWith(e.field, "winding.turns_per_coil") && e.repeats >= 3;
  });
  if (!repeated && record.winding.groups.empty()) {
    missing.push_back("turns of three or more coils of different groups, each count as evidence");
  }
  if (!record.core.shape) missing.push_back("shape of the slot, for its fullness");
  if (!record.winding.mean_turn_m) missing.push_back("length of a mean turn, measured on a coil");
  if (moment == Moment::kStripped && !record.mass) missing.push_back("mass of the stripped wire");
  return missing;
}

// Of the explanation that stands first and the likeliest other.
void ChooseNext(const Record& record, const Model& model, const std::vector<Hypothesis>& listed,
                const std::vector<Slip>& slips, RecordCheck& check) {
  if (check.verdict == Verdict::kSound || listed.size() < 2) return;
  const auto second = std::max_element(listed.begin() + 1, listed.end(), [](const Hypothesis& a, const Hypothesis& b) {
    return a.probability < b.probability;
  });
  check.next = NextFor(record, model, check.moment, listed[0], *second, slips);
}

}  // namespace coilwright::plan
