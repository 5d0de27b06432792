#include "plan/plan.h"
#include "rpc/methods.h"
#include "rpc/read_record.h"
#include "rpc/shop.h"
#include "rpc/write_plan.h"

namespace coilwright::rpc {

// What contradicts itself is only worth saying where the single values are in range; what is missing is missing anyway.
void AddMissing(const Reader& at_record, const plan::Record& record) {
  for (const standards::FieldError& missing : plan::Missing(record)) {
    if (!at_record.HasErrorAt(missing.field)) at_record.Wrong(missing.field, missing.given, missing.accepted);
  }
}

absl::Status PlanRewind(const v1::PlanRewindRequest& request, v1::PlanRewindResponse* response) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const plan::Record record = ReadRecord(reader.At("record"));
  const plan::Change change = ReadChange(reader.At("change"));
  plan::WireChoice wires = ReadWireChoice(reader.At("wires"));
  wires.way = reader.Count("way", 1, 1000).value_or(1);
  const plan::TestChoice tests = ReadTestChoice(reader.At("tests"));
  const plan::Settings settings = ReadSettings(reader.At("settings"));
  if (!errors.empty()) {
    AddMissing(reader.At("record"), record);
    return standards::InvalidFields(errors);
  }
  const absl::StatusOr<plan::RewindPlan> plan = plan::MakePlan(record, change, wires, tests, settings);
  if (!plan.ok()) return plan.status();
  Write(*plan, record, response);
  WriteShop({&request.tests(), &request.settings(), &v1::Bench::default_instance()}, response);
  return absl::OkStatus();
}

absl::Status ListReconnections(const v1::ListReconnectionsRequest& request, v1::ListReconnectionsResponse* response) {
  std::vector<standards::FieldError> errors;
  const Reader reader(request, "", &errors);
  const plan::Record record = ReadRecord(reader.At("record"));
  const std::optional<double> wanted_volts = reader.Number("wanted_volts", kRatedVolts);
  const std::optional<double> frequency_hz = reader.Number("frequency_hz", {1, 2000, "Hz"});
  const plan::Settings settings = ReadSettings(reader.At("settings"));
  if (!errors.empty()) {
    AddMissing(reader.At("record"), record);
    return standards::InvalidFields(errors);
  }
  const absl::StatusOr<plan::Reconnections> answer =
      plan::ListReconnections(record, wanted_volts, frequency_hz, settings);
  if (!answer.ok()) return answer.status();
  Write(*answer, response);
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
