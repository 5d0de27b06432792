#include "rpc/write.h"
#include "rpc/write_check.h"
#include "rpc/write_plan.h"
#include "standards/rule_ids.h"
#include "standards/tables.h"

namespace coilwright::rpc {
namespace {

template <typename Message>
void WriteGroups(const std::vector<plan::CoilGroup>& groups, Message* out) {
  for (const plan::CoilGroup& group : groups) {
    v1::CoilGroup* g = out->add_groups();
    g->set_count(group.count);
    for (const plan::GroupCoil& coil : group.coils) {
      v1::GroupCoil* c = g->add_coils();
      c->set_span_slots(coil.span_slots);
      c->set_turns(coil.turns);
    }
  }
}

}  // namespace

void Write(const plan::TurnsPlan& turns, v1::TurnsPlan* out) {
  out->set_original_turns_per_coil(turns.original_turns_per_coil);
  out->set_exact_turns_per_coil(turns.exact_turns_per_coil);
  out->set_turns_per_coil(turns.turns_per_coil);
  out->set_mean_turns_per_coil(turns.mean_turns_per_coil);
  WriteGroups(turns.groups, out);
  out->set_rounding_ratio(turns.rounding_ratio);
  out->set_series_turns_per_phase(turns.series_turns_per_phase);
  out->set_connection(static_cast<v1::Connection>(static_cast<int>(turns.connection) + 1));
  out->set_parallel_circuits(turns.parallel_circuits);
  out->set_rated_volts(turns.rated_volts);
  if (turns.frequency_hz) out->set_frequency_hz(*turns.frequency_hz);
  out->set_winding_factor(turns.winding_factor);
  out->set_flux_ratio(turns.flux_ratio);
  if (turns.rated_kw) out->set_rated_kw(*turns.rated_kw);
  if (turns.line_amps_rms) out->set_line_amps_rms(*turns.line_amps_rms);
  if (turns.speed_rpm) out->set_speed_rpm(*turns.speed_rpm);
  out->set_changed(turns.changed);
  if (turns.alternating) {
    v1::AlternatingTurns* offer = out->mutable_alternating();
    WriteGroups(turns.alternating->groups, offer);
    offer->set_mean_turns_per_coil(turns.alternating->mean_turns_per_coil);
    offer->set_winding_factor(turns.alternating->winding_factor);
    offer->set_rounding_ratio(turns.alternating->rounding_ratio);
    offer->set_axis_shift_electrical_degrees(turns.alternating->axis_shift_electrical_degrees);
    offer->set_rule(Str(rules::plan_alternating_turns));
  }
  for (const std::string& note : turns.notes) out->add_notes(note);
  WriteRules(turns.rules, out);
}

void Write(const plan::Reconnections& answer, v1::ListReconnectionsResponse* out) {
  Write(answer.check, out->mutable_record_check());
  for (const plan::Reconnection& way : answer.ways) {
    v1::Reconnection* w = out->add_reconnections();
    w->set_connection(static_cast<v1::Connection>(static_cast<int>(way.connection) + 1));
    w->set_parallel_circuits(way.circuits);
    w->set_rated_volts(way.rated_volts);
    if (way.frequency_hz) w->set_frequency_hz(*way.frequency_hz);
    if (way.line_amps_rms) w->set_line_amps_rms(*way.line_amps_rms);
    WriteBand(way.line_to_line_ohms, w->mutable_line_to_line_ohms());
    w->set_as_recorded(way.as_recorded);
    if (way.wanted_ratio) w->set_wanted_volts_ratio(*way.wanted_ratio);
    if (way.wanted_frequency_hz) w->set_frequency_for_wanted_volts_hz(*way.wanted_frequency_hz);
    w->set_coil_ends(way.coil_ends);
    for (const std::string& note : way.notes) w->add_notes(note);
  }
  for (const std::string& caution : answer.cautions) out->add_cautions(caution);
  WriteRules(answer.rules, out);
  out->set_data_revision(Str(standards::DataRevision()));
}

}  // namespace coilwright::rpc
