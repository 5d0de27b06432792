#pragma once

#include <cstdlib>
#include <memory>
#include <string>
#include <vector>

#include "absl/strings/str_cat.h"
#include "calls/methods.h"
#include "google/protobuf/text_format.h"

namespace coilwright::calls {

using Requests = std::vector<std::shared_ptr<const Message>>;

// The record shown in the README: a servo motor with tooth coils.
v1::WindingRecord DemoRecord();

template <typename Request>
Request Parse(const std::string& text) {
  Request request;
  if (!google::protobuf::TextFormat::ParseFromString(text, &request)) std::abort();
  return request;
}

// A record of a lap-wound induction motor, invented; plate figures agree with each other.
inline constexpr const char* kInduction = R"pb(
  record {
    title: "Harbour Lane cannery, retort fan"
    machine {
      kind: MACHINE_KIND_INDUCTION
      nameplate {
        rated_volts: 400
        line_amps_rms: 6.4
        rated_power { kw: 3 }
        frequency_hz: 50
        speed_rpm: 1430
        poles: 4
        rated_torque_nm: 20
        thermal_class: "155"
        drive_fed: false
        built_year: 1998
      }
      core {
        bore_diameter { mm: 95 }
        outer_diameter { mm: 155 }
        stack_length { mm: 105 }
        slots: 36
        tooth_width { mm: 4.2 }
        back_iron_depth { mm: 14 }
      }
      slot {
        shape {
          round_bottomed {
            top_width { mm: 4.4 }
            bottom_diameter { mm: 7 }
            depth { mm: 16 }
          }
        }
        opening_width { mm: 2.8 }
        opening_depth { mm: 0.8 }
        liner_thickness { mm: 0.3 }
        wedge_height { mm: 0.8 }
      }
      construction: CONSTRUCTION_HAND_INSERTED
    }
    winding {
      coil_form: COIL_FORM_LAP
      layers: LAYERS_DOUBLE
      coil_pitch_slots: 8
      turns_per_coil: 19
      parallel_circuits: 1
      connection: CONNECTION_STAR
      strands {
        wire { designation: "0.85 mm grade 2" }
        wires_in_hand: 1
      }
      mean_turn { mm: 560 }
      star_open: true
    }
    measured {
      mass {
        mass { kg: 3.4 }
        basis: MASS_BASIS_BARE
        leads_included: false
      }
    }
    workshop {
      air_temperature { fahrenheit: 68 }
      relative_humidity_percent: 60
    }
  })pb";

// A concentric winding recorded coil by coil, replaced from a shelf.
inline constexpr const char* kConcentric = R"pb(
  record {
    machine {
      kind: MACHINE_KIND_INDUCTION
      nameplate { rated_volts: 400 line_amps_peak: 7 frequency_hz: 50 pole_pairs: 2 }
      core {
        bore_diameter { inches: 3.2 }
        stack_length { mils: 3000 }
        slots: 24
      }
      slot {
        shape { measured_area { cmil: 190000 } }
        depth { mm: 14 }
        opening_width { mm: 3 }
        liner_thickness { mils: 10 }
        wedge_height { mm: 1 }
      }
    }
    winding {
      coil_form: COIL_FORM_CONCENTRIC
      layers: LAYERS_SINGLE
      groups {
        count: 6
        coils { span_slots: 5 turns: 40 }
        coils { span_slots: 7 turns: 44 }
      }
      parallel_circuits: 1
      connection: CONNECTION_DELTA
      strands { wire { designation: "AWG 20 heavy" } }
    }
    measured {
      resistance {
        u_v_ohms: 4
        leads_ohms: 0.02
        winding_temperature { celsius: 21 }
        temperature_evidence: TEMPERATURE_EVIDENCE_SENSOR
      }
    }
  }
  wires {
    stock {
      wire { designation: "AWG 21 heavy" }
      length_left_metres: 4000
    }
    stock {
      wire { designation: "AWG 23 heavy" }
      mass_left_kg: 6
    }
    stock {
      wire {
        bare_diameter { mm: 0.62 }
        overall_diameter { mm: 0.69 }
      }
    }
    most_sizes: 2
    best: 5
  }
  change { rated_volts: 460 frequency_hz: 60 })pb";

// Everything changed at once, with levels of the shop.
inline constexpr const char* kRedesign = R"pb(
  change {
    rated_volts: 460
    frequency_hz: 60
    connection: CONNECTION_DELTA
    parallel_circuits: 2
    poles: 6
    poles_hold: POLES_HOLD_AIR_GAP
    coil_form: COIL_FORM_CONCENTRIC
    layers: LAYERS_DOUBLE
    groups {
      count: 18
      coils { span_slots: 4 turns: 9 }
      coils { span_slots: 6 turns: 11 }
    }
    rated_power { kw: 2.4 }
    alternating_turns: true
  }
  wires { systems: WIRE_SYSTEM_IEC_R20 most_sizes: 1 best: 3 }
  settings { air_gap_watch_teslas: 0.8 tooth_watch_teslas: 1.6 back_iron_watch_teslas: 1.4 })pb";

// Good requests of a method; all are answered OK. The first of each is small enough to be sent a thousand times.
Requests GoodRequests(const std::string& method);

}  // namespace coilwright::calls
