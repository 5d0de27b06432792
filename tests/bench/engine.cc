// bench_engine: the calculations alone, no gRPC around them. tests/bench/run.sh prints its medians.

#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <numeric>
#include <set>
#include <sstream>
#include <string>
#include <utility>

#include "benchmark/benchmark.h"
#include "coilwright/v1/rewind_plan_service.pb.h"
#include "coilwright/v1/test_limit_service.pb.h"
#include "json.h"
#include "rpc/call.h"
#include "rpc/methods.h"
#include "rpc/read_record.h"
#include "winding/compare.h"
#include "winding/connection.h"
#include "winding/field.h"
#include "winding/layout.h"
#include "wire/brute_force.h"
#include "wire/strands.h"

namespace coilwright {
namespace {

template <typename T>
T ValueOrDie(absl::StatusOr<T> value) {
  if (!value.ok()) {
    std::fprintf(stderr, "%s\n", value.status().ToString().c_str());
    std::abort();
  }
  return *std::move(value);
}

v1::PlanRewindRequest DemoRequest() {
  std::ifstream file(COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-servo.json");
  std::stringstream text;
  text << file.rdbuf();
  v1::PlanRewindRequest request;
  const absl::Status parsed = cli::ParseJson(ValueOrDie(cli::ReadJson("demo", text.str())), request.mutable_record());
  if (!parsed.ok()) std::abort();
  return request;
}

v1::PlanRewindResponse Plan(const v1::PlanRewindRequest& request) {
  v1::PlanRewindResponse response;
  if (!rpc::Run(rpc::PlanRewind, request, &response).ok()) std::abort();
  return response;
}

// Message in, message out, as a call runs it, with the whole catalogue to search.
void PlanWithSearch(benchmark::State& state) {
  const v1::PlanRewindRequest request = DemoRequest();
  int found = 0;
  for (auto _ : state) found = Plan(request).options_size();
  state.counters["found"] = found;
}
BENCHMARK(PlanWithSearch)->Unit(benchmark::kMillisecond);

// The same plan from a shelf that holds nothing but the wires it chooses, so that hardly any search is left and as many
// ways to wind it are worked out.
void PlanWithoutSearch(benchmark::State& state) {
  v1::PlanRewindRequest request = DemoRequest();
  const v1::PlanRewindResponse plan = Plan(request);
  std::set<std::string> shelf;
  for (const v1::WindingOption& option : plan.options()) {
    for (const v1::ChosenStrand& strand : option.conductor().strands()) shelf.insert(strand.designation());
  }
  for (const std::string& wire : shelf) {
    request.mutable_wires()->add_stock()->mutable_wire()->set_designation(wire);
  }
  state.counters["found"] = Plan(request).options_size();
  for (auto _ : state) benchmark::DoNotOptimize(Plan(request));
}
BENCHMARK(PlanWithoutSearch)->Unit(benchmark::kMillisecond);

// The demo as an induction motor of this many slots: two layers of four poles and a pitch of 7/9.
v1::WindingRecord Motor(int slots) {
  v1::WindingRecord record = DemoRequest().record();
  v1::Machine& machine = *record.mutable_machine();
  machine.set_kind(v1::MACHINE_KIND_INDUCTION);
  v1::Nameplate& plate = *machine.mutable_nameplate();
  plate.clear_voltage_constant();
  plate.clear_torque_constant_nm_per_arms();
  plate.clear_rated_torque_nm();
  plate.clear_pole_pairs();
  plate.clear_speed_rpm();
  plate.set_poles(4);
  plate.set_frequency_hz(50);
  machine.mutable_core()->set_slots(slots);
  machine.mutable_core()->clear_tooth_width();
  machine.mutable_core()->mutable_bore_diameter()->set_mm(4 * slots);
  machine.mutable_core()->mutable_outer_diameter()->set_mm(6 * slots);
  machine.mutable_slot()->clear_shape();
  machine.mutable_slot()->mutable_depth()->set_mm(20);
  v1::Winding& winding = *record.mutable_winding();
  winding.set_coil_form(v1::COIL_FORM_LAP);
  winding.set_layers(v1::LAYERS_DOUBLE);
  winding.set_coil_pitch_slots(slots / 4 * 7 / 9);
  winding.clear_mean_turn();
  record.clear_measured();
  return record;
}

// Volts, hertz, connection, pitch and form at once, message to message, with one wire to choose so that no search is
// left.
void Alter(benchmark::State& state) {
  const int slots = static_cast<int>(state.range(0));
  v1::PlanRewindRequest request;
  *request.mutable_record() = Motor(slots);
  v1::WindingChange& change = *request.mutable_change();
  change.set_rated_volts(400);
  change.set_frequency_hz(60);
  change.set_connection(v1::CONNECTION_DELTA);
  change.set_coil_form(v1::COIL_FORM_CONCENTRIC);
  change.set_coil_pitch_slots(slots / 4);
  request.mutable_wires()->add_stock()->mutable_wire()->set_designation("0.80 mm grade 2");
  for (auto _ : state) benchmark::DoNotOptimize(Plan(request));
}
BENCHMARK(Alter)->Unit(benchmark::kMicrosecond)->Arg(36)->Arg(72)->Arg(144)->Arg(360)->Arg(720);

void Reconnect(benchmark::State& state) {
  v1::ListReconnectionsRequest request;
  *request.mutable_record() = Motor(static_cast<int>(state.range(0)));
  request.set_wanted_volts(400);
  for (auto _ : state) {
    v1::ListReconnectionsResponse response;
    if (!rpc::Run(rpc::ListReconnections, request, &response).ok()) std::abort();
    benchmark::DoNotOptimize(response);
  }
}
BENCHMARK(Reconnect)->Unit(benchmark::kMicrosecond)->Arg(36)->Arg(72)->Arg(144)->Arg(360)->Arg(720);

// A record that fails, so that every slip and pair counts: the demo with its turns doubled, and a motor of 720 slots
// and 120 poles, whose many circuit counts make a long list.
v1::CheckRecordRequest FailingRecord(int slots) {
  v1::CheckRecordRequest request;
  *request.mutable_record() = DemoRequest().record();
  request.mutable_record()->mutable_winding()->set_turns_per_coil(70);
  request.mutable_record()->clear_evidence();  // its counts of the right turns would refuse the wrong ones
  if (slots != 720) return request;
  v1::Machine& machine = *request.mutable_record()->mutable_machine();
  machine.mutable_nameplate()->set_poles(120);
  machine.mutable_core()->set_slots(720);
  machine.mutable_core()->mutable_bore_diameter()->set_mm(3000);
  machine.mutable_core()->mutable_outer_diameter()->set_mm(3200);
  machine.mutable_slot()->clear_shape();
  machine.mutable_slot()->mutable_depth()->set_mm(40);
  v1::Winding& winding = *request.mutable_record()->mutable_winding();
  winding.set_coil_form(v1::COIL_FORM_LAP);
  winding.set_coil_pitch_slots(5);
  return request;
}

void Check(benchmark::State& state) {
  const v1::CheckRecordRequest request = FailingRecord(static_cast<int>(state.range(0)));
  for (auto _ : state) {
    v1::CheckRecordResponse response;
    if (!rpc::Run(rpc::CheckRecord, request, &response).ok()) std::abort();
    benchmark::DoNotOptimize(response);
  }
}
BENCHMARK(Check)->Arg(12)->Arg(720)->Unit(benchmark::kMillisecond);

// The body of GetTestLimits, whose call is measured against an echo.
void LimitsBody(benchmark::State& state) {
  v1::GetTestLimitsRequest request;
  request.set_rated_volts(230);
  request.mutable_rated_power()->set_kw(1.4);
  request.set_built_year(2009);
  v1::GetTestLimitsResponse response;
  for (auto _ : state) {
    response.Clear();
    if (!rpc::Run(rpc::GetTestLimits, request, &response).ok()) std::abort();
  }
}
BENCHMARK(LimitsBody)->Unit(benchmark::kMicrosecond);

// Full AWG and metric catalogue, twelve in hand, three sizes, best twenty, for the area of AWG 15.
wire::StrandSearch FullCatalogue() {
  using standards::Film;
  using standards::WireSystem;
  wire::StrandSearch search;
  for (const auto& [system, film] :
       {std::pair{WireSystem::kAwg, Film::kHeavy}, std::pair{WireSystem::kIecR20, Film::kGrade2},
        std::pair{WireSystem::kIecR40, Film::kGrade2}}) {
    for (const wire::Wire& wire : wire::Catalogue(system, film)) search.wires.push_back({wire, {}});
  }
  search.target_area_mm2 = 1.652;
  return search;
}

// Wire for one strand of each size only and a slot so full that few combinations pass: the search has to go through
// three sizes, and past the first step of the area.
wire::StrandSearch TightSlot() {
  wire::StrandSearch search = FullCatalogue();
  search.target_area_mm2 = 4.0;
  search.greatest_bare_mm = 1.4;
  search.length_per_strand_m = 100;
  for (wire::Available& one : search.wires) one.length_left_m = 100;
  search.turns_in_slot = 40;
  search.slot_net_area_mm2 = 40 * search.target_area_mm2 * 1.27 * 1.28 / search.greatest_fullness;
  return search;
}

void Search(benchmark::State& state, const wire::StrandSearch& search) {
  size_t found = 0;
  for (auto _ : state) found = ValueOrDie(wire::ChooseStrands(search)).choices.size();
  state.counters["found"] = static_cast<double>(found);
}
BENCHMARK_CAPTURE(Search, Catalogue, FullCatalogue())->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(Search, TightSlot, TightSlot())->Unit(benchmark::kMillisecond);

void BruteForce(benchmark::State& state, const wire::StrandSearch& search) {
  size_t found = 0;
  for (auto _ : state) found = wire::BruteForce(search).Best().size();
  state.counters["found"] = static_cast<double>(found);
}
BENCHMARK_CAPTURE(BruteForce, Catalogue, FullCatalogue())->Unit(benchmark::kMillisecond)->Iterations(1);
BENCHMARK_CAPTURE(BruteForce, TightSlot, TightSlot())->Unit(benchmark::kMillisecond)->Iterations(1);

// A double layer with four poles and a pitch of 7/9 in a core: coils, axes, sense, repeats, leakage, every working
// harmonic and every wave to `range(1)`.
void Layout(benchmark::State& state) {
  const int slots = static_cast<int>(state.range(0)), orders = static_cast<int>(state.range(1));
  const winding::Pattern pattern = {slots, 4, slots / 4 * 7 / 9, winding::Layers::kDouble, winding::CoilForm::kLap};
  std::vector<int> harmonics(static_cast<size_t>(orders));
  std::iota(harmonics.begin(), harmonics.end(), 1);
  for (auto _ : state) {
    const winding::Layout layout = ValueOrDie(winding::LaidOut({pattern}));
    benchmark::DoNotOptimize(winding::FieldOf(layout));
    benchmark::DoNotOptimize(ValueOrDie(winding::WindingFactors(pattern, harmonics)));
    benchmark::DoNotOptimize(winding::WavesOf(layout, orders));
  }
}
BENCHMARK(Layout)->Unit(benchmark::kMicrosecond)->ArgsProduct({{36, 72, 144, 360, 720}, {50, 100, 200, 500, 1000}});

// Its connection list for two circuits in star, and the list followed end by end.
void Connections(benchmark::State& state) {
  const int slots = static_cast<int>(state.range(0));
  const winding::Placement placement = {
      {slots, 4, slots / 4 * 7 / 9, winding::Layers::kDouble, winding::CoilForm::kLap}};
  const winding::Layout layout = ValueOrDie(winding::LaidOut(placement));
  for (auto _ : state) {
    const auto list = ValueOrDie(winding::Connect(placement, layout, winding::PhaseEnds::kStar, 2));
    benchmark::DoNotOptimize(ValueOrDie(winding::TraceJoints(layout, list.joints)));
  }
}
BENCHMARK(Connections)->Unit(benchmark::kMicrosecond)->Arg(72)->Arg(720);

// Against the same layout turned by a slot: every turn, mirror and naming is looked at.
void Compare(benchmark::State& state) {
  const int slots = static_cast<int>(state.range(0)), poles = static_cast<int>(state.range(1));
  winding::Placement placement = {{slots, poles, slots / poles, winding::Layers::kDouble, winding::CoilForm::kLap}};
  const winding::Layout first = ValueOrDie(winding::LaidOut(placement));
  placement.first_slot = 2;
  const winding::Layout second = ValueOrDie(winding::LaidOut(placement));
  for (auto _ : state) benchmark::DoNotOptimize(winding::CompareLayouts(first, second).drop_in);
}
BENCHMARK(Compare)->Unit(benchmark::kMicrosecond)->Args({72, 4})->Args({720, 4})->Args({720, 120});

}  // namespace
}  // namespace coilwright

BENCHMARK_MAIN();
