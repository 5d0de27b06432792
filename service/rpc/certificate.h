#pragma once

#include <string>
#include <vector>

#include "coilwright/v1/archive.pb.h"
#include "coilwright/v1/insulation_run_service.pb.h"
#include "coilwright/v1/job_service.pb.h"
#include "sheet/document.h"

namespace coilwright::rpc {

// What a test certificate is made of. Parts that are not there are left out of it.
struct CertifiedTests {
  std::string title;
  // Of the archive, where it is of a job.
  std::string job, customer;
  v1::Machine machine;
  // In the order of the stages; those that others stand for left out.
  std::vector<v1::JobReadings> readings;
  // An insulation run and what the engine makes of it.
  std::vector<v1::InsulationSample> run;
  v1::RunInsulationTestResponse run_summary;
  v1::GetMegohmTrendResponse trend;
  // The release, where there is one.
  v1::SignOff release;
  std::vector<std::string> cautions;
};

// Readings, corrected values, limits, margins and rules of every stage, as they were judged; curves; and room for the
// persons who measured and release. It says who is named, and certifies nothing by itself.
sheet::Document TestCertificate(const CertifiedTests& tests, const std::string& code);

}  // namespace coilwright::rpc
