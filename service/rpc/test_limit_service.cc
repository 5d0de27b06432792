#include <utility>

#include "absl/strings/str_cat.h"
#include "rpc/guard.h"
#include "rpc/methods.h"
#include "rpc/read_programme.h"
#include "rpc/read_record.h"
#include "rpc/shop.h"
#include "rpc/status.h"
#include "rpc/write.h"
#include "standards/tables.h"
#include "testing/programme.h"
#include "testing/withstand.h"

namespace coilwright::rpc {
namespace {

using Errors = std::vector<standards::FieldError>;

void WriteLevel(testing::Level level, v1::VoltageShape shape, v1::TestLevel* out) {
  if (level.applicable) {
    out->set_test_volts(level.volts);
    out->set_volts_shape(shape);
    out->set_hold_seconds(level.seconds);
  }
  out->set_formula(std::move(level.formula));
  out->set_rule(Str(level.rule));
  out->set_reason(std::move(level.reason));
}

// A level that the family does not set keeps its place with the reason; other errors go to the caller.
absl::Status WriteSurge(const testing::SurgeCase& surge_case, v1::GetTestLimitsResponse* response) {
  absl::StatusOr<testing::SurgeLevel> surge = testing::SurgeLevelFor(surge_case);
  v1::TestLevel* out = response->mutable_surge();
  if (absl::IsFailedPrecondition(surge.status())) {
    out->set_reason(Str(surge.status().message()));
    return absl::OkStatus();
  }
  if (!surge.ok()) return surge.status();
  out->set_test_volts(surge->volts_peak);
  out->set_volts_shape(v1::VOLTAGE_SHAPE_PEAK);
  out->set_formula(std::move(surge->formula));
  out->set_rule(Str(surge->rule));
  response->set_surge_capped(surge->capped);
  response->set_surge_standard(surge->standard);
  for (std::string& note : surge->notes) response->add_notes(std::move(note));
  return absl::OkStatus();
}

}  // namespace

absl::Status GetTestLimits(const v1::GetTestLimitsRequest& request, v1::GetTestLimitsResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const plan::TestChoice choice = ReadTestChoice(reader.At("choice"));
  testing::WithstandCase withstand_case;
  withstand_case.rated_volts =
      reader.Need("rated_volts", reader.Number("rated_volts", kRatedVolts),
                  "1 V to 50000 V, line to line rms of the winding (not mains, not DC bus)", 230.0);
  withstand_case.rated_kw = reader.Kw("rated_power", kRatedKw);
  withstand_case.condition = choice.condition;
  withstand_case.family = choice.family;
  insulation::MegohmCase megohm_case;
  megohm_case.rated_volts = withstand_case.rated_volts;
  megohm_case.rated_kw = withstand_case.rated_kw;
  megohm_case.kind =
      reader.Enum<insulation::WindingKind>("winding_kind").value_or(insulation::WindingKind::kRandomWound);
  megohm_case.built_year = reader.Count("built_year", 1880, 2200);
  megohm_case.edition = choice.megohm_edition;
  megohm_case.shop_expectation_megohms = choice.shop_expectation_megohms;
  if (!errors.empty()) return standards::InvalidFields(errors);

  absl::StatusOr<testing::Withstand> withstand = testing::WithstandLevels(withstand_case);
  if (!withstand.ok()) return withstand.status();
  const double ac_withstand_volts = withstand->ac.volts;
  WriteLevel(std::move(withstand->ac), v1::VOLTAGE_SHAPE_AC_RMS, response->mutable_withstand_ac());
  WriteLevel(std::move(withstand->dc), v1::VOLTAGE_SHAPE_DC, response->mutable_withstand_dc());
  WriteLevel(std::move(withstand->ac_one_second), v1::VOLTAGE_SHAPE_AC_RMS,
             response->mutable_withstand_ac_one_second());
  for (std::string& note : withstand->notes) response->add_notes(std::move(note));

  const testing::SurgeCase surge_case =
      testing::SurgeCaseFor(withstand_case, ac_withstand_volts, megohm_case.kind == insulation::WindingKind::kFormWound,
                            choice.form_wound_surge);
  if (absl::Status status = WriteSurge(surge_case, response); !status.ok()) return status;

  const absl::StatusOr<insulation::MegohmLimits> megohms = insulation::Limits(megohm_case);
  if (!megohms.ok()) return megohms.status();
  v1::TestLevel* test = response->mutable_megohm_test();
  test->set_test_volts(megohms->test_volts_dc);
  test->set_volts_shape(v1::VOLTAGE_SHAPE_DC);
  test->set_hold_seconds(60);
  test->set_rule(Str(megohms->test_voltage_rule));
  response->set_megohm_test_volts_low(megohms->test_volts_dc_low);
  response->set_megohm_test_volts_high(megohms->test_volts_dc_high);
  response->set_minimum_megohms(megohms->minimum_megohms);
  response->set_minimum_megohms_rule(Str(megohms->minimum_rule));
  response->set_shop_expectation_megohms(megohms->shop_expectation_megohms);
  response->set_outside_megohm_scope(megohms->outside_scope);
  if (request.winding_kind() == v1::INSULATED_WINDING_KIND_UNSPECIFIED && withstand_case.rated_volts > 1000) {
    response->add_notes(
        "no winding kind given: taken as random wound; above 1000 V most windings are form wound, with other "
        "surge levels and a higher least insulation resistance");
  }
  response->add_cautions(Str(testing::QualifiedPersonCaution()));
  if (megohm_case.kind == insulation::WindingKind::kRandomWound) {
    if (auto doubt = testing::RandomWoundDoubt(withstand_case.rated_volts)) response->add_cautions(*std::move(doubt));
  }
  WriteShop({&request.choice()}, response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

namespace {

class LimitsSession final : public Session<v1::StreamTestLimitsRequest, v1::StreamTestLimitsResponse> {
 public:
  absl::StatusOr<bool> Take(const v1::StreamTestLimitsRequest& request,
                            v1::StreamTestLimitsResponse* response) override {
    constexpr int kMostMachines = 256;
    constexpr size_t kMostLabelBytes = 200;
    const int machines = request.machines_size();
    if (machines == 0 || machines > kMostMachines)
      return standards::InvalidField("machines", absl::StrCat(machines, " machines"), "1 to 256 in a message");
    for (const auto& machine : request.machines()) {
      auto* answer = response->add_answers();
      absl::Status status;
      if (machine.label().size() > kMostLabelBytes) {
        // Not returned: it may be as long as a message.
        status = standards::InvalidField("label", absl::StrCat(machine.label().size(), " bytes"), "at most 200 bytes");
      } else {
        answer->set_label(machine.label());
        const v1::GetTestLimitsRequest& limits = machine.limits();
        status = Guarded(limits, [&] { return GetTestLimits(limits, answer->mutable_limits()); });
      }
      if (!status.ok()) *answer->mutable_status() = DetailsOf(status);
    }
    response->set_data_revision(Str(standards::DataRevision()));
    return true;
  }
};

}  // namespace

std::unique_ptr<Session<v1::StreamTestLimitsRequest, v1::StreamTestLimitsResponse>> StreamTestLimits() {
  return std::make_unique<LimitsSession>();
}

absl::Status GetTestProgramme(const v1::GetTestProgrammeRequest& request, v1::GetTestProgrammeResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  testing::ProgrammeCase c = ReadProgrammeCase(reader);
  c.bench = ReadBench(reader.At("bench"));
  if (!errors.empty()) return standards::InvalidFields(errors);
  const absl::StatusOr<testing::Programme> programme = testing::TestProgramme(c);
  if (!programme.ok()) return programme.status();
  Write(*programme, response->mutable_programme());
  WriteShop({&request.choice(), &request.bench()}, response);
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
