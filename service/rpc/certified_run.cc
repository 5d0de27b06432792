#include "rpc/certified_run.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "absl/strings/str_cat.h"
#include "enum_text.h"
#include "rpc/insulation_run.h"
#include "standards/errors.h"

namespace coilwright::rpc {
namespace {

v1::InsulatedWindingKind WoundKind(v1::InsulatedWindingKind kind) {
  return kind == v1::INSULATED_WINDING_KIND_UNSPECIFIED ? v1::INSULATED_WINDING_KIND_RANDOM_WOUND : kind;
}

// The setup that was sent, completed by what the readings say of the same winding.
absl::StatusOr<v1::InsulationRunSetup> SetupOf(const v1::InsulationRunSetup& sent, const v1::JudgeReadingsRequest& of) {
  std::vector<standards::FieldError> errors;
  v1::InsulationRunSetup setup = sent;
  const v1::Nameplate& plate = of.machine().nameplate();
  if (plate.has_rated_volts()) {
    if (sent.has_rated_volts() && std::abs(sent.rated_volts() - plate.rated_volts()) > 1e-6 * plate.rated_volts()) {
      errors.push_back({"run_setup.rated_volts", absl::StrCat(sent.rated_volts(), " V"),
                        absl::StrCat(plate.rated_volts(), " V, as the plate of the machine, or left out")});
    }
    setup.set_rated_volts(plate.rated_volts());
  }
  const v1::InsulatedWindingKind kind = WoundKind(of.winding_kind());
  if (sent.winding_kind() != v1::INSULATED_WINDING_KIND_UNSPECIFIED && sent.winding_kind() != kind) {
    errors.push_back({"run_setup.winding_kind", EnumText(sent.winding_kind()),
                      absl::StrCat(EnumText(kind), ", as the readings, or left out")});
  }
  if (!errors.empty()) return standards::InvalidFields(errors);
  setup.set_winding_kind(kind);
  if (!setup.has_rated_power() && plate.has_rated_power()) *setup.mutable_rated_power() = plate.rated_power();
  if (setup.thermal_class().empty()) setup.set_thermal_class(plate.thermal_class());
  if (!setup.has_built_year() && plate.has_built_year()) setup.set_built_year(plate.built_year());
  if (!setup.has_choice() && of.has_choice()) *setup.mutable_choice() = of.choice();
  // Of the one insulation reading beside it; with several nobody knows which.
  const auto megohms = [](const v1::Reading& reading) { return reading.has_megohms(); };
  if (std::count_if(of.readings().begin(), of.readings().end(), megohms) == 1) {
    const v1::MegohmReading& read = std::find_if(of.readings().begin(), of.readings().end(), megohms)->megohms();
    if (!setup.has_winding_temperature() && read.has_winding_temperature())
      *setup.mutable_winding_temperature() = read.winding_temperature();
    if (setup.other_phases() == v1::OTHER_PHASES_UNSPECIFIED) setup.set_other_phases(read.other_phases());
  }
  return setup;
}

}  // namespace

absl::StatusOr<v1::RunInsulationTestResponse> SumUpRun(const v1::MakeTestCertificateRequest& request,
                                                       const v1::JudgeReadingsRequest& of) {
  const auto setup = SetupOf(request.run_setup(), of);
  if (!setup.ok()) return setup.status();
  auto run = StartRun(*setup);
  if (!run.ok()) return standards::UnderField("run_setup", run.status());
  constexpr size_t kMostRefusedSamples = 20;
  std::vector<standards::FieldError> errors;
  for (int i = 0; i < request.run_samples_size() && errors.size() < kMostRefusedSamples; ++i) {
    const insulation::RunUpdate update = run->Add(ReadSample(request.run_samples(i)));
    if (!update.refused) continue;
    errors.push_back({absl::StrCat("run_samples[", i, "].", update.refused->field), update.refused->given,
                      update.refused->accepted});
  }
  if (!errors.empty()) return standards::InvalidFields(errors);
  v1::RunInsulationTestResponse end;
  FinishRun(*run, &end);
  return end;
}

}  // namespace coilwright::rpc
