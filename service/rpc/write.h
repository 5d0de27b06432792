#pragma once

#include <vector>

#include "absl/strings/string_view.h"
#include "coilwright/v1/quantities.pb.h"
#include "coilwright/v1/rule_service.pb.h"
#include "coilwright/v1/testing.pb.h"
#include "coilwright/v1/wire_service.pb.h"
#include "standards/band.h"
#include "standards/rules.h"
#include "testing/programme.h"
#include "wire/wire.h"

namespace coilwright::rpc {

// Engine structures into messages of the contract.

// The contract's enums follow the engine's in order, one on: their zero is "unspecified".
template <typename Proto, typename Engine>
Proto Next(Engine value) {
  return static_cast<Proto>(static_cast<int>(value) + 1);
}

inline void WriteBand(const standards::Band& band, v1::Band* out) {
  out->set_low(band.low);
  out->set_nominal(band.nominal);
  out->set_high(band.high);
}

void Write(const standards::Rule& rule, v1::Rule* out);
void Write(const testing::Limit& limit, v1::AcceptanceLimit* out);
void Write(const testing::Programme& programme, v1::TestProgramme* out);

// With resistance at `celsius`; the caller has checked that the preset covers it.
absl::Status Write(const wire::Wire& wire, standards::Metal metal, standards::ConductorPreset preset, double celsius,
                   v1::Wire* out);

// One RuleUse per rule, for every computed number of the message.
template <typename Message>
void WriteRules(const std::vector<absl::string_view>& rules, Message* out) {
  for (const absl::string_view rule : rules) {
    if (!rule.empty()) out->add_rule_uses()->set_rule(rule.data(), rule.size());
  }
}

// One RuleUse that names the fields it computed.
template <typename Message>
void WriteRule(absl::string_view rule, std::initializer_list<const char*> fields, Message* out) {
  v1::RuleUse* use = out->add_rule_uses();
  use->set_rule(rule.data(), rule.size());
  for (const char* field : fields) use->add_fields(field);
}

inline std::string Str(absl::string_view text) { return std::string(text); }

}  // namespace coilwright::rpc
