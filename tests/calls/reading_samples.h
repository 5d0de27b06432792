#pragma once

namespace coilwright::calls {

// An invented servo motor of the cannery, and its readings as requests in text form: small ones first. Waves are damped
// sines of 60 kHz.
inline constexpr const char* kReadMachine = R"pb(
  machine {
    kind: MACHINE_KIND_PERMANENT_MAGNET
    nameplate {
      rated_volts: 230
      rated_power { kw: 0.75 }
      poles: 8
      thermal_class: "F"
      built_year: 2015
      voltage_constant {
        volts: 60
        point: VOLTAGE_POINT_LINE_TO_LINE
        measure: VOLTAGE_MEASURE_RMS
        speed_unit: SPEED_UNIT_THOUSAND_RPM
      }
    }
    core { slots: 12 }
    construction: CONSTRUCTION_NEEDLE_WOUND
    fitted {
      feedback: FEEDBACK_KIND_RESOLVER
      brake { rated_volts_dc: 24 }
      thermal_sensors { kind: THERMAL_SENSOR_KIND_PTC_THERMISTOR }
    }
  }
)pb";
inline constexpr const char* kReadings[] = {
    R"pb(
      stage: STAGE_AS_RECEIVED
      readings {
        resistance {
          line_to_line {
            u_v_ohms: 1.02
            v_w_ohms: 1.0
            w_u_ohms: 1.0
            winding_temperature { celsius: 22 }
          }
        }
      }
      readings {
        megohms {
          insulation_megohms: 900
          winding_temperature { celsius: 22 }
        }
      }
    )pb",
    R"pb(
      stage: STAGE_ASSEMBLED
      rotor_fitted: true
      winding_kind: INSULATED_WINDING_KIND_RANDOM_WOUND
      choice { family: STANDARD_FAMILY_IEC_60034_1 resistance_unbalance_percent: 2 }
      expected_line_to_line_ohms { low: 0.95 nominal: 1 high: 1.05 }
      expected_ke_volts_per_krpm { low: 57 nominal: 60 high: 63 }
      winding {
        coil_form: COIL_FORM_TOOTH_COIL
        layers: LAYERS_DOUBLE
        turns_per_coil: 60
        parallel_circuits: 1
        connection: CONNECTION_STAR
        metal: CONDUCTOR_METAL_COPPER
      }
      readings_choice {
        shop_margin_ratio: 0.02
        surge_watch_ratio: 0.05
        surge_act_ratio: 0.12
        surge_level_volts_peak: 1000
        most_leakage_milliamps: 8
      }
      magnet_material: MAGNET_MATERIAL_NEODYMIUM
      magnet_percent_per_kelvin: -0.11
      fanless: true
      air_temperature { celsius: 21 }
      relative_humidity_percent: 45
      readings {
        label: "before the run"
        resistance {
          line_to_line {
            u_v_ohms: 1.0
            v_w_ohms: 1.0
            w_u_ohms: 0.97
            winding_temperature { celsius: 21 }
            temperature_evidence: TEMPERATURE_EVIDENCE_SOAKED
          }
        }
        instrument { name: "four-wire 2" uncertainty_ratio: 0.002 }
      }
      readings {
        label: "one clip off"
        resistance {
          line_to_line {
            v_w_ohms: 1.0
            winding_temperature { fahrenheit: 70 }
          }
          u_v_open: true
          w_u_open: true
        }
      }
      readings {
        label: "U V W to frame"
        megohms {
          insulation_megohms: 800
          megohms_at_30s: 640
          megohms_at_10min: 1500
          winding_temperature { celsius: 22 }
          test_volts_dc: 500
        }
        instrument { uncertainty_ratio: 0.05 }
      }
      readings {
        withstand {
          volts_shape: VOLTAGE_SHAPE_AC_RMS
          test_volts: 1500
          hold_seconds: 60
          leakage_milliamps: 1.2
          leakage_milliamps: 1.2
          trip_milliamps: 10
        }
      }
      readings {
        label: "pairs"
        surge {
          waves {
            point: WAVE_POINT_U_V
            volts: 1100.0
            volts: 1002.5
            volts: 770.4
            volts: 441.1
            volts: 63.8
            volts: -307.6
            volts: -621.9
            volts: -838.0
            volts: -930.0
            volts: -889.9
            volts: -728.6
            volts: -473.0
            volts: -162.1
            volts: 158.9
            volts: 445.5
            volts: 659.3
            volts: 773.7
            volts: 776.8
            volts: 672.5
            volts: 479.5
            volts: 227.9
            volts: -45.4
            volts: -301.6
            volts: -506.2
            volts: -632.9
            volts: -667.2
            volts: -608.0
            volts: -467.3
            volts: -267.5
            volts: -38.7
            volts: 186.6
            volts: 377.2
            volts: 508.3
            volts: 564.1
            volts: 539.8
            volts: 441.9
            volts: 286.9
            volts: 98.3
            volts: -96.4
            volts: -270.2
            volts: -399.9
            volts: -469.3
            volts: -471.1
            volts: -407.9
            volts: -290.8
            volts: -138.2
            volts: 27.5
            volts: 183.0
            volts: 307.0
            volts: 383.9
            volts: 404.7
            volts: 368.8
            volts: 283.4
            volts: 162.3
            volts: 23.5
            volts: -113.1
            volts: -228.8
            volts: -308.3
            volts: -342.1
            volts: -327.4
            volts_at_lower_level: 550.0
            volts_at_lower_level: 501.3
            volts_at_lower_level: 385.2
            volts_at_lower_level: 220.5
            volts_at_lower_level: 31.9
            volts_at_lower_level: -153.8
            volts_at_lower_level: -310.9
            volts_at_lower_level: -419.0
            volts_at_lower_level: -465.0
            volts_at_lower_level: -445.0
            volts_at_lower_level: -364.3
            volts_at_lower_level: -236.5
            volts_at_lower_level: -81.1
            volts_at_lower_level: 79.5
            volts_at_lower_level: 222.7
            volts_at_lower_level: 329.6
            volts_at_lower_level: 386.8
            volts_at_lower_level: 388.4
            volts_at_lower_level: 336.3
            volts_at_lower_level: 239.8
            volts_at_lower_level: 113.9
            volts_at_lower_level: -22.7
            volts_at_lower_level: -150.8
            volts_at_lower_level: -253.1
            volts_at_lower_level: -316.4
            volts_at_lower_level: -333.6
            volts_at_lower_level: -304.0
            volts_at_lower_level: -233.6
            volts_at_lower_level: -133.8
            volts_at_lower_level: -19.3
            volts_at_lower_level: 93.3
            volts_at_lower_level: 188.6
            volts_at_lower_level: 254.1
            volts_at_lower_level: 282.0
            volts_at_lower_level: 269.9
            volts_at_lower_level: 221.0
            volts_at_lower_level: 143.4
            volts_at_lower_level: 49.2
            volts_at_lower_level: -48.2
            volts_at_lower_level: -135.1
            volts_at_lower_level: -199.9
            volts_at_lower_level: -234.6
            volts_at_lower_level: -235.6
            volts_at_lower_level: -204.0
            volts_at_lower_level: -145.4
            volts_at_lower_level: -69.1
            volts_at_lower_level: 13.8
            volts_at_lower_level: 91.5
            volts_at_lower_level: 153.5
            volts_at_lower_level: 191.9
            volts_at_lower_level: 202.3
            volts_at_lower_level: 184.4
            volts_at_lower_level: 141.7
            volts_at_lower_level: 81.1
            volts_at_lower_level: 11.7
            volts_at_lower_level: -56.6
            volts_at_lower_level: -114.4
            volts_at_lower_level: -154.1
            volts_at_lower_level: -171.1
            volts_at_lower_level: -163.7
          }
          waves {
            point: WAVE_POINT_V_W
            volts: 1100.0
            volts: 1002.3
            volts: 769.5
            volts: 439.3
            volts: 61.2
            volts: -310.5
            volts: -624.7
            volts: -840.0
            volts: -930.5
            volts: -888.6
            volts: -725.3
            volts: -467.8
            volts: -155.7
            volts: 165.7
            volts: 451.6
            volts: 663.8
            volts: 775.6
            volts: 775.7
            volts: 668.3
            volts: 472.5
            volts: 219.0
            volts: -54.9
            volts: -310.5
            volts: -513.0
            volts: -636.6
            volts: -667.1
            volts: -604.0
            volts: -459.8
            volts: -257.5
            volts: -27.5
            volts: 197.3
            volts: 386.0
            volts: 513.8
            volts: 565.4
            volts: 536.7
            volts: 434.8
            volts: 276.6
            volts: 86.3
            volts: -108.4
            volts: -280.5
            volts: -407.0
            volts: -472.2
            volts: -469.4
            volts: -401.7
            volts: -281.0
            volts: -126.1
            volts: 40.2
            volts: 194.4
            volts: 315.6
            volts: 388.3
            volts: 404.5
            volts: 363.9
            volts: 274.6
            volts: 150.7
            volts: 10.8
            volts: -125.1
            volts: -238.4
            volts: -314.2
            volts: -343.5
            volts: -324.0
          }
          waves {
            point: WAVE_POINT_W_U
            volts: 1100.0
            volts: 1002.4
            volts: 770.0
            volts: 440.2
            volts: 62.5
            volts: -309.1
            volts: -623.3
            volts: -839.0
            volts: -930.3
            volts: -889.3
            volts: -726.9
            volts: -470.4
            volts: -158.9
            volts: 162.3
            volts: 448.5
            volts: 661.5
            volts: 774.7
            volts: 776.2
            volts: 670.4
            volts: 476.0
            volts: 223.4
            volts: -50.1
            volts: -306.1
            volts: -509.6
            volts: -634.7
            volts: -667.2
            volts: -606.1
            volts: -463.5
            volts: -262.5
            volts: -33.1
            volts: 192.0
            volts: 381.6
            volts: 511.1
            volts: 564.8
            volts: 538.3
            volts: 438.4
            volts: 281.8
            volts: 92.3
            volts: -102.4
            volts: -275.4
            volts: -403.5
            volts: -470.8
            volts: -470.3
            volts: -404.8
            volts: -285.9
            volts: -132.2
            volts: 33.8
            volts: 188.7
            volts: 311.3
            volts: 386.1
            volts: 404.6
            volts: 366.4
            volts: 279.0
            volts: 156.5
            volts: 17.1
            volts: -119.1
            volts: -233.6
            volts: -311.3
            volts: -342.8
            volts: -325.8
          }
          sample_microseconds: 1
          rotor_locked_at_same_position: true
        }
      }
      readings {
        back_emf {
          u_v_volts_rms: 180
          v_w_volts_rms: 180.5
          w_u_volts_rms: 179.8
          speed_rpm: 3000
          frequency_hz: 200
          magnet_temperature { celsius: 24 }
        }
      }
      readings {
        temperature_rise {
          cold_ohms: 1
          cold_temperature { celsius: 21 }
          hot_ohms: 1.31
          coolant_temperature { celsius: 24 }
          seconds_after_switch_off: 20
        }
      }
      readings { observation { kind: TEST_KIND_VISUAL passed: true note: "clean" } }
      readings { observation { kind: TEST_KIND_BRAKE passed: false note: "drags" } }
    )pb",
    R"pb(
      stage: STAGE_AS_RECEIVED
      winding { connection: CONNECTION_DELTA coil_form: COIL_FORM_CONCENTRIC layers: LAYERS_SINGLE turns_per_coil: 30 }
      readings {
        resistance {
          line_to_line {
            u_v_ohms: 0.6721
            v_w_ohms: 0.6721
            w_u_ohms: 0.6885
            winding_temperature { celsius: 20 }
          }
        }
      }
      readings {
        megohms {
          insulation_megohms: 2
          winding_temperature { celsius: 22 }
        }
      }
    )pb"};

}  // namespace coilwright::calls
