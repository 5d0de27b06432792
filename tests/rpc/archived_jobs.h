#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "calls/own_archive.h"

namespace coilwright::calls {

// Readings of a sound assembled induction motor: three equal damped sines for the surge test (a closed form).
inline v1::AddReadingsRequest Sound(const std::string& job) {
  auto request = Parse<v1::AddReadingsRequest>(
      R"(taken_by: "B. Tester"
         readings {
           stage: STAGE_ASSEMBLED
           machine { kind: MACHINE_KIND_INDUCTION
                     nameplate { rated_volts: 400 rated_power { kw: 3 } poles: 4 frequency_hz: 50 } }
           readings { resistance { line_to_line { u_v_ohms: 2 v_w_ohms: 2 w_u_ohms: 2
                                                  winding_temperature { celsius: 20 } } } }
           readings { megohms { insulation_megohms: 900 winding_temperature { celsius: 22 } test_volts_dc: 500 } }
           readings { withstand { volts_shape: VOLTAGE_SHAPE_AC_RMS test_volts: 1800 hold_seconds: 60 } }
           readings { observation { kind: TEST_KIND_VISUAL passed: true } }
           readings { surge { sample_microseconds: 1 } }
         })");
  request.set_job(job);
  v1::SurgeReading* surge = request.mutable_readings()->mutable_readings(4)->mutable_surge();
  for (const auto point : {v1::WAVE_POINT_U_V, v1::WAVE_POINT_V_W, v1::WAVE_POINT_W_U}) {
    v1::SurgeWave* wave = surge->add_waves();
    wave->set_point(point);
    for (int t = 0; t < 200; ++t) wave->add_volts(1800 * std::exp(-0.02 * t) * std::cos(0.37 * t));
    for (const double volts : wave->volts()) wave->add_volts_at_lower_level(volts / 2);
  }
  return request;
}

class ArchivedJobs : public OwnArchive {
 protected:
  ArchivedJobs() { KeepForTest(archive(), "seamer", DemoRecord()); }

  v1::Job Job(const std::string& id = "7114") {
    v1::CreateJobRequest request;
    request.mutable_job()->set_winding("windings/seamer");
    request.set_job_id(id);
    request.set_recorded_by("A. Winder");
    return Ok(&rpc::CreateJob, request).job();
  }
  // Of the machine that Sound() reads.
  v1::Job FanJob() {
    auto request = Parse<v1::CreateJobRequest>(R"(job_id: "7114" recorded_by: "A. Winder")");
    *request.mutable_job()->mutable_machine() = Sound("jobs/7114").readings().machine();
    request.mutable_job()->mutable_machine()->mutable_nameplate()->set_serial_text("HL 3000");
    return Ok(&rpc::CreateJob, request).job();
  }
  v1::Job Now(const std::string& name = "jobs/7114") {
    v1::GetJobRequest request;
    request.set_name(name);
    return Ok(&rpc::GetJob, request).job();
  }
  v1::ChoosePlanRequest Choose(const v1::Job& job) {
    auto request = Parse<v1::ChoosePlanRequest>(
        R"(recorded_by: "A. Winder" wires { systems: WIRE_SYSTEM_IEC_R20 most_sizes: 2 best: 3 })");
    request.set_name(job.name());
    request.set_etag(job.revision().etag());
    return request;
  }
  v1::SignOffJobRequest SignOff(const v1::Job& job) {
    auto request = Parse<v1::SignOffJobRequest>(
        R"(person: "C. Inspector" qualification: "licensed electrician, card 4711" statement: "goes back to line 2")");
    request.set_name(job.name());
    request.set_etag(job.revision().etag());
    return request;
  }
};

}  // namespace coilwright::calls
