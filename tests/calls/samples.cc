#include "calls/samples.h"

#include <fstream>

#include "absl/strings/str_cat.h"
#include "calls/archive_samples.h"
#include "calls/reading_samples.h"
#include "google/protobuf/util/json_util.h"

namespace coilwright::calls {

v1::WindingRecord DemoRecord() {
  std::ifstream file(COILWRIGHT_SOURCE_DIR "/clients/demo/can-seamer-servo.json");
  std::string json;
  for (std::string line; std::getline(file, line);) {
    const size_t first = line.find_first_not_of(' ');
    if (first == std::string::npos || line.compare(first, 2, "//") != 0) json += line + "\n";
  }
  v1::WindingRecord record;
  const auto status = google::protobuf::util::JsonStringToMessage(json, &record);
  if (!status.ok() || json.empty()) std::abort();
  return record;
}

Requests GoodRequests(const std::string& method) {
  Requests requests;
  const auto add = [&](auto request) { requests.push_back(std::make_shared<decltype(request)>(std::move(request))); };
  if (method == "GetRule") {
    add(Parse<v1::GetRuleRequest>(R"(name: "rules/slot.fill")"));
  } else if (method == "ListRules") {
    add(Parse<v1::ListRulesRequest>("page_size: 5"));
    add(Parse<v1::ListRulesRequest>(R"(id_prefix: "ieee43" page_size: 200)"));
    add(v1::ListRulesRequest());
  } else if (method == "LookUpWire") {
    add(Parse<v1::LookUpWireRequest>(R"(wire { designation: "AWG 18 heavy" })"));
    add(Parse<v1::LookUpWireRequest>(
        R"(wire { designation: "0.71 mm" film: FILM_GRADE_2 } temperature { fahrenheit: 212 }
           metal: CONDUCTOR_METAL_ALUMINIUM conductor_preset: CONDUCTOR_PRESET_IEEE_112)"));
    add(Parse<v1::LookUpWireRequest>(R"(wire { bare_diameter { mm: 0.9 } overall_diameter { mm: 1 } })"));
  } else if (method == "ListWires") {
    add(Parse<v1::ListWiresRequest>("system: WIRE_SYSTEM_AWG page_size: 3"));
    add(Parse<v1::ListWiresRequest>("system: WIRE_SYSTEM_SWG film: FILM_GRADE_1 page_size: 200"));
  } else if (method == "IdentifyWire") {
    add(Parse<v1::IdentifyWireRequest>("diameters { mm: 0.71 } diameters { mils: 28 } over_film: false most: 3"));
    add(Parse<v1::IdentifyWireRequest>("diameters { mm: 0.79 } over_film: true uncertainty { mm: 0.01 } most: 50"));
  } else if (method == "ChooseStrands") {
    add(Parse<v1::ChooseStrandsRequest>(
        R"(target_area { mm2: 1.0 } choice { systems: WIRE_SYSTEM_IEC_R20 most_wires_in_hand: 4 most_sizes: 2 best: 3 }
           slot_net_area_mm2: 120 turns_in_slot: 40 slot_opening { mm: 2.6 } liner_thickness { mm: 0.25 }
           length_per_strand { metres: 90 })"));
    add(Parse<v1::ChooseStrandsRequest>(
        R"(original { strands { wire { designation: "AWG 17 heavy" } wires_in_hand: 2 } }
           choice { stock { wire { designation: "AWG 18 heavy" } } stock { wire { designation: "AWG 20 heavy" } } })"));
    add(Parse<v1::ChooseStrandsRequest>("target_area { cmil: 5000 }"));
  } else if (method == "GetTestLimits") {
    add(Parse<v1::GetTestLimitsRequest>("rated_volts: 400 rated_power { kw: 3 } built_year: 2009"));
    add(Parse<v1::GetTestLimitsRequest>(
        R"(rated_volts: 6600 rated_power { hp: 500 } winding_kind: INSULATED_WINDING_KIND_FORM_WOUND
           choice { family: STANDARD_FAMILY_NEMA_MG_1 condition: WINDING_CONDITION_NEW })"));
  } else if (method == "StreamTestLimits") {
    add(Parse<v1::StreamTestLimitsRequest>(
        R"(machines { label: "job 7114" limits { rated_volts: 400 rated_power { kw: 3 } built_year: 2009 } }
           machines { limits { rated_volts: 48 rated_power { watts: 180 }
                               choice { family: STANDARD_FAMILY_IEC_60034_1 } } })"));
  } else if (method == "RunInsulationTest") {
    add(Parse<v1::RunInsulationTestRequest>(
        R"(setup { rated_volts: 690 winding_kind: INSULATED_WINDING_KIND_FORM_WOUND rated_power { kw: 90 }
                   winding_temperature { celsius: 25 } instrument { uncertainty_ratio: 0.03 } test_volts_dc: 500 }
           samples { seconds: 30 test_volts_dc: 500 insulation_megohms: 300 }
           samples { seconds: 60 test_volts_dc: 501 insulation_megohms: 400 winding_celsius: 25.5 }
           samples { seconds: 600 test_volts_dc: 500 current_microamps: 0.5 })"));
    v1::RunInsulationTestRequest run = Parse<v1::RunInsulationTestRequest>(
        R"(setup { rated_volts: 400 air_temperature { fahrenheit: 70 } relative_humidity_percent: 40 charge_seconds: 3
                least_current_microamps: 0.001 })");
    for (int i = 1; i <= 40; ++i) {
      v1::InsulationSample& sample = *run.add_samples();
      sample.set_seconds(5 * i);
      sample.set_test_volts_dc(500);
      sample.set_current_microamps(2 / std::pow(5.0 * i, 0.8) + 0.1);
      sample.set_winding_celsius(30 - 0.01 * i);
    }
    add(run);
    add(Parse<v1::RunInsulationTestRequest>(
        R"(setup { rated_volts: 4160 kind: INSULATION_RUN_KIND_STEP_VOLTAGE
                   winding_kind: INSULATED_WINDING_KIND_FORM_WOUND }
           samples { seconds: 1 test_volts_dc: 1000 current_microamps: 1 }
           samples { seconds: 61 test_volts_dc: 1000 current_microamps: 0.9 }
           samples { seconds: 70 test_volts_dc: 2000 current_microamps: 2 }
           samples { seconds: 130 test_volts_dc: 2000 current_microamps: 1.8 })"));
  } else if (method == "GetTestProgramme") {
    v1::GetTestProgrammeRequest request;
    *request.mutable_machine() = DemoRecord().machine();
    request.set_rotor_fitted(false);
    request.mutable_expected_line_to_line_ohms()->set_low(0.7);
    request.mutable_expected_line_to_line_ohms()->set_nominal(0.75);
    request.mutable_expected_line_to_line_ohms()->set_high(0.8);
    for (int stage = v1::STAGE_AS_RECEIVED; stage <= v1::STAGE_IN_SERVICE; ++stage) {
      request.set_stage(static_cast<v1::Stage>(stage));
      add(request);
    }
    add(Parse<v1::GetTestProgrammeRequest>(
        R"(stage: STAGE_AS_RECEIVED rotor_fitted: true
           machine { kind: MACHINE_KIND_INDUCTION
                     nameplate { rated_volts: 400 rated_power { kw: 15 } built_year: 1964 drive_fed: true
                                 drive_mains_volts: 400 }
                     fitted { feedback: FEEDBACK_KIND_TACHOMETER
                              thermal_sensors { kind: THERMAL_SENSOR_KIND_PTC_THERMISTOR }
                              thermal_sensors { kind: THERMAL_SENSOR_KIND_THERMOSTAT }
                              thermal_sensors { kind: THERMAL_SENSOR_KIND_PLATINUM_RTD resistance_ohms: 109.7
                                                at_temperature { celsius: 25 } }
                              brake { rated_volts_dc: 205 coil_ohms: 840 rectifier: true }
                              space_heater: true space_heater_volts: 230 space_heater_watts: 50 surge_parts: true } }
           choice { trip_ac_milliamps: 5 surge_watch_ratio: 0.03 least_discharge_seconds: 30 }
           bench { greatest_surge_volts_peak: 1000 megohm_test_volts_dc: 500 megohm_test_volts_dc: 1000
                   polarization_run: false })"));
  } else if (method == "JudgeMegohms") {
    add(Parse<v1::JudgeMegohmsRequest>(
        R"(readings { label: "U to frame" insulation_megohms: 800 megohms_at_30s: 500 megohms_at_10min: 2000
                      winding_temperature { celsius: 22 } test_volts_dc: 500 other_phases: OTHER_PHASES_EARTHED
                      instrument { name: "megohmmeter 1" uncertainty_ratio: 0.1 } }
           readings { insulation_megohms: 2 winding_temperature { fahrenheit: 122 } }
           readings { insulation_megohms: 9000 over_range: true winding_temperature { celsius: 4 } }
           rated_volts: 400 thermal_class: "F" air_temperature { celsius: 20 } relative_humidity_percent: 50
           handbook_correction: HANDBOOK_CORRECTION_MIL_M_17413A)"));
  } else if (method == "JudgeReadings") {
    for (const char* text : kReadings) add(Parse<v1::JudgeReadingsRequest>(absl::StrCat(kReadMachine, text)));
  } else if (method == "PlanRewind") {
    v1::PlanRewindRequest demo;
    *demo.mutable_record() = DemoRecord();
    v1::PlanRewindRequest small = demo;
    small.mutable_wires()->add_systems(v1::WIRE_SYSTEM_IEC_R20);
    small.mutable_wires()->set_most_sizes(2);
    small.mutable_wires()->set_best(2);
    add(small);
    add(Parse<v1::PlanRewindRequest>(kInduction));
    add(Parse<v1::PlanRewindRequest>(kConcentric));
    v1::PlanRewindRequest redesign = Parse<v1::PlanRewindRequest>(kInduction);
    redesign.mutable_record()->mutable_machine()->mutable_slot()->mutable_depth()->set_mm(16);
    redesign.MergeFrom(Parse<v1::PlanRewindRequest>(kRedesign));
    add(redesign);
    add(demo);
  } else if (method == "ListReconnections") {
    v1::ListReconnectionsRequest demo;
    *demo.mutable_record() = DemoRecord();
    demo.set_wanted_volts(130);
    add(demo);
    v1::ListReconnectionsRequest induction;
    *induction.mutable_record() = Parse<v1::PlanRewindRequest>(kInduction).record();
    induction.set_wanted_volts(230);
    induction.set_frequency_hz(60);
    induction.mutable_settings()->set_conductor_preset(v1::CONDUCTOR_PRESET_IEEE_112);
    add(induction);
  } else if (method == "DescribeLayout") {
    add(Parse<v1::DescribeLayoutRequest>("layout { slots: 12 poles: 10 coil_form: COIL_FORM_TOOTH_COIL }"));
    add(Parse<v1::DescribeLayoutRequest>(
        R"(layout { slots: 36 poles: 4 coil_pitch_slots: 8 layers: LAYERS_DOUBLE coil_form: COIL_FORM_LAP first_slot: 5
                    phase_order: PHASE_ORDER_AGAINST_SLOTS connection_end: MACHINE_END_DRIVE }
           connection: CONNECTION_DELTA parallel_circuits: 2 most_harmonic: 50 most_order: 200)"));
    add(Parse<v1::DescribeLayoutRequest>("layout { slots: 42 poles: 6 coil_pitch_slots: 7 }"));
    add(Parse<v1::DescribeLayoutRequest>(
        R"(layout { slots: 6 poles: 2 connection_end: MACHINE_END_DRIVE } connection: CONNECTION_OPEN
           coils { phase: PHASE_U go_slot: 1 return_slot: 4 } coils { phase: PHASE_V go_slot: 3 return_slot: 6 }
           coils { phase: PHASE_W go_slot: 5 return_slot: 2 })"));
    add(Parse<v1::DescribeLayoutRequest>(
        "layout { slots: 24 poles: 4 coil_pitch_slots: 6 layers: LAYERS_SINGLE coil_form: COIL_FORM_CONCENTRIC }"));
  } else if (method == "CompareLayouts") {
    add(Parse<v1::CompareLayoutsRequest>(
        R"(first { pattern { slots: 24 poles: 4 coil_pitch_slots: 5 } }
           second { pattern { slots: 24 poles: 4 coil_pitch_slots: 5 first_slot: 2
                              connection_end: MACHINE_END_DRIVE } })"));
    add(Parse<v1::CompareLayoutsRequest>(
        R"(first { pattern { slots: 3 poles: 2 }
                   coils { phase: PHASE_U go_slot: 1 return_slot: 2 } coils { phase: PHASE_V go_slot: 2 return_slot: 3 }
                   coils { phase: PHASE_W go_slot: 3 return_slot: 1 } }
           second { pattern { slots: 3 poles: 2 coil_form: COIL_FORM_TOOTH_COIL } })"));
    add(Parse<v1::CompareLayoutsRequest>(
        R"(first { pattern { slots: 9 poles: 8 coil_pitch_slots: 1 } }
           second { pattern { slots: 9 poles: 10 coil_pitch_slots: 1 } })"));
  }
  if (method == "MakeWindingDrawing") {
    add(Parse<v1::MakeWindingDrawingRequest>(
        "layout { slots: 12 poles: 10 } document { format: DOCUMENT_FORMAT_SVG }"));
    add(Parse<v1::MakeWindingDrawingRequest>(
        R"(layout { slots: 36 poles: 4 coil_pitch_slots: 8 first_slot: 5 phase_order: PHASE_ORDER_AGAINST_SLOTS }
           connection: CONNECTION_OPEN parallel_circuits: 2
           document { paper: PAPER_LETTER format: DOCUMENT_FORMAT_SVG title: "Harbour Lane cannery, line 2" })"));
    add(Parse<v1::MakeWindingDrawingRequest>(
        R"(layout { slots: 6 poles: 2 connection_end: MACHINE_END_DRIVE } connection: CONNECTION_DELTA
           coils { phase: PHASE_U go_slot: 1 return_slot: 4 } coils { phase: PHASE_V go_slot: 3 return_slot: 6 }
           coils { phase: PHASE_W go_slot: 5 return_slot: 2 })"));
    auto recorded =
        Parse<v1::MakeWindingDrawingRequest>("layout { first_slot: 3 } document { format: DOCUMENT_FORMAT_SVG }");
    *recorded.mutable_record() = Parse<v1::PlanRewindRequest>(kConcentric).record();
    recorded.mutable_change()->set_rated_volts(230);
    add(recorded);
  } else if (method == "MakeSlotDrawing") {
    auto induction = Parse<v1::MakeSlotDrawingRequest>("document { format: DOCUMENT_FORMAT_SVG title: \"Fan\" }");
    *induction.mutable_record() = Parse<v1::PlanRewindRequest>(kInduction).record();
    add(induction);
    auto demo = Parse<v1::MakeSlotDrawingRequest>("document { format: DOCUMENT_FORMAT_SVG }");
    *demo.mutable_record() = DemoRecord();
    add(demo);
    induction.MergeFrom(Parse<v1::MakeSlotDrawingRequest>(
        R"(way: 2 wires { systems: WIRE_SYSTEM_IEC_R20 most_sizes: 2 best: 3 } settings { fullness_watch_ratio: 0.7 }
           change { parallel_circuits: 2 } document { paper: PAPER_LETTER })"));
    add(induction);
    v1::MakeSlotDrawingRequest concentric;
    *concentric.mutable_record() = Parse<v1::PlanRewindRequest>(kConcentric).record();
    add(concentric);
  }
  if (method == "MakeRewindSheet") {
    v1::MakeRewindSheetRequest demo;
    *demo.mutable_plan()->mutable_record() = DemoRecord();
    demo.mutable_plan()->mutable_wires()->set_best(2);
    demo.mutable_plan()->set_way(2);
    add(demo);
    auto shop = Parse<v1::MakeRewindSheetRequest>(
        R"(document { paper: PAPER_LETTER format: DOCUMENT_FORMAT_SVG title: "Filler" units: PRINT_UNITS_SHOP })");
    *shop.mutable_plan() = Parse<v1::PlanRewindRequest>(kConcentric);
    add(shop);
  } else if (method == "MakeConnectionLabel") {
    v1::MakeConnectionLabelRequest demo;
    *demo.mutable_plan()->mutable_record() = DemoRecord();
    add(demo);
    demo.mutable_document()->set_paper(v1::PAPER_LETTER);
    *demo.mutable_plan() = Parse<v1::PlanRewindRequest>(kInduction);
    add(demo);
  } else if (method == "MakeTestCertificate") {
    add(Parse<v1::MakeTestCertificateRequest>(R"(job: "jobs/sample")"));
    for (const char* text : kReadings) {
      v1::MakeTestCertificateRequest judged = Parse<v1::MakeTestCertificateRequest>(
          R"(run_samples { seconds: 30 test_volts_dc: 500 insulation_megohms: 300 }
             run_samples { seconds: 60 test_volts_dc: 500 current_microamps: 1.2 }
             run_setup { winding_temperature { celsius: 21 } })");
      *judged.mutable_readings() = Parse<v1::JudgeReadingsRequest>(absl::StrCat(kReadMachine, text));
      add(judged);
    }
  }
  if (method == "CheckRecord") {
    v1::CheckRecordRequest demo;
    *demo.mutable_record() = DemoRecord();
    add(demo);
    v1::CheckRecordRequest slip = demo;
    slip.mutable_record()->mutable_winding()->set_connection(v1::CONNECTION_DELTA);
    slip.set_moment(v1::CHECK_MOMENT_CUT);
    slip.set_lead_share(0.03);
    add(slip);
    v1::CheckRecordRequest uncounted = demo;
    uncounted.mutable_record()->mutable_winding()->clear_turns_per_coil();
    uncounted.mutable_record()->mutable_winding()->clear_strands();
    add(uncounted);
    v1::CheckRecordRequest induction;
    *induction.mutable_record() = Parse<v1::PlanRewindRequest>(kInduction).record();
    induction.set_conductor_preset(v1::CONDUCTOR_PRESET_IEEE_112);
    add(induction);
    v1::CheckRecordRequest concentric;
    *concentric.mutable_record() = Parse<v1::PlanRewindRequest>(kConcentric).record();
    add(concentric);
  } else if (method == "EstimateMissing") {
    v1::EstimateMissingRequest burnt;
    *burnt.mutable_record() = DemoRecord();
    burnt.mutable_record()->mutable_winding()->clear_turns_per_coil();
    add(burnt);
    burnt.mutable_record()->mutable_winding()->clear_strands();
    add(burnt);
    v1::EstimateMissingRequest induction;
    *induction.mutable_record() = Parse<v1::PlanRewindRequest>(kInduction).record();
    induction.set_lead_share(0.05);
    add(induction);
  }
  if (method == "PlanCoreTest") {
    add(Parse<v1::PlanCoreTestRequest>(
        R"(core { outer_diameter { mm: 300 } bore_diameter { mm: 200 } slot_depth { mm: 22 } stack_length { mm: 180 }
                  stacking_factor: 0.96 slots: 36 tooth_width { mm: 8 } }
           make { core_plate: CORE_PLATE_INORGANIC } frequency_hz: 50 supply_volts: 24 supply_volts: 48
           cable_amps_per_mm2: 4)"));
    add(Parse<v1::PlanCoreTestRequest>(
        R"(core { outer_diameter { inches: 20 } bore_diameter { inches: 14 } back_iron_depth { inches: 1.75 }
                  stack_length { inches: 10 } vents: 2 vent_width { inches: 0.375 } }
           make { construction: CONSTRUCTION_SEGMENTED glued: true } frequency_hz: 60 supply_volts: 120
           target_flux { lines_per_in2: 85000 } designed_for_hz: 267 lamination_thickness { mm: 0.35 }
           magnetizing_amps_per_metre_rms: 300)"));
    add(Parse<v1::PlanCoreTestRequest>(
        R"(core { outer_diameter { mm: 300 } bore_diameter { mm: 200 } slot_depth { mm: 22 } stack_length { mm: 180 } }
           frequency_hz: 50 supply_volts: 24 operating_flux { teslas: 1.25 })"));
  } else if (method == "CompareCoreTests") {
    add(Parse<v1::CompareCoreTestsRequest>(
        R"(before { watts: 98 volts_per_turn: 1.412 }
           after { watts: 97 volts_per_turn: 1.38 start_temperature { celsius: 20 } hot_spot_temperature { celsius: 31 }
                   average_temperature { fahrenheit: 75 } instrument { uncertainty_ratio: 0.01 } }
           core { outer_diameter { mm: 300 } bore_diameter { mm: 200 } slot_depth { mm: 22 } stack_length { mm: 180 } }
           frequency_hz: 50)"));
    add(Parse<v1::CompareCoreTestsRequest>(
        R"(before { watts: 98 volts_per_turn: 1.412 } after { watts: 130 volts_per_turn: 1.412 }
           back_iron_mass { pounds: 70 } designed_for_hz: 200 hot_spot_rule: HOT_SPOT_RULE_IEEE_1068
           hot_spot_reference: HOT_SPOT_REFERENCE_AVERAGE loss_increase_most_percent: 15
           specific_loss_most_watts_per_kg: 7)"));
  } else if (method == "GetOvenLimit") {
    add(Parse<v1::GetOvenLimitRequest>("make { core_plate: CORE_PLATE_ORGANIC }"));
    add(
        Parse<v1::GetOvenLimitRequest>("make { construction: CONSTRUCTION_BOBBIN glued: true potted: true "
                                       "magnets_fitted: true aluminium_frame: true }"));
  } else if (method == "AssessDriveStress") {
    add(Parse<v1::AssessDriveStressRequest>(
        "rated_volts: 400 mains_volts: 400 cable_length { metres: 20 } rise_time_10_90_us: 0.1"));
    add(Parse<v1::AssessDriveStressRequest>(
        R"(rated_volts: 400 mains_volts: 400 bus_basis: DC_BUS_BASIS_MAINS_PEAK cable_length { feet: 16 }
           rise_time_0_100_us: 0.1 cable_velocity_metres_per_us: 150 cable_impedance_ohms: 80 motor_impedance_ohms: 2000
           source_reflection: -0.9 own_limit_volts_peak: 900)"));
    add(Parse<v1::AssessDriveStressRequest>(
        R"(rated_volts: 690 dc_bus_volts: 1100 cable_length { metres: 100 } rise_time_10_90_us: 0.3
           relative_permittivity: 4.5 rated_power { kw: 200 })"));
    add(Parse<v1::AssessDriveStressRequest>(
        R"(rated_volts: 200 mains_volts: 200 bus_basis: DC_BUS_BASIS_MAINS_HIGH_LINE cable_length { metres: 3 }
           rise_time_10_90_us: 0.2 load_reflection: 0.9)"));
  }
  AddArchiveSamples(method, &requests);
  if (requests.empty()) std::abort();
  return requests;
}

}  // namespace coilwright::calls
