// Documents of plans, readings and jobs: their numbers are those of the API, read back by pdftotext.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "absl/strings/str_cat.h"
#include "calls/samples.h"
#include "print/figures.h"
#include "print/units.h"
#include "rpc/archived_jobs.h"
#include "rpc/record_code.h"
#include "sheet/read_back.h"
#include "standards/tables.h"

namespace coilwright::calls {
namespace {

using print::Quantity;
using print::Units;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

class JobSheets : public ArchivedJobs {
 protected:
  template <typename Request, typename Response>
  absl::Status Made(absl::Status (*body)(archive::Archive*, const Request&, Response*), const Request& request) {
    Response response;
    const absl::Status status = body(&archive(), request, &response);
    code_ = response.document().code();
    // Words of a line stand where they fall; single blanks make them one text.
    text_ = response.document().files().empty() ? "" : sheet::PdfText(response.document().files(0));
    std::string plain;
    for (const char c : text_) {
      const bool blank = c == ' ' || c == '\n' || c == '\f';
      if (!blank || (!plain.empty() && plain.back() != ' ')) plain += blank ? ' ' : c;
    }
    text_ = plain;
    return status;
  }
  std::vector<std::string> FieldsOf(const absl::Status& status) {
    std::vector<std::string> fields;
    for (const standards::FieldError& error : standards::FieldErrorsOf(status)) fields.push_back(error.field);
    return fields;
  }

  std::string text_;
  std::string code_;
};

TEST_F(JobSheets, ARewindSheetSaysWhatThePlanSays) {
  v1::MakeRewindSheetRequest request;
  *request.mutable_plan()->mutable_record() = DemoRecord();
  request.mutable_plan()->mutable_wires()->set_best(3);
  request.set_way(2);
  v1::PlanRewindResponse plan;
  ASSERT_TRUE(rpc::PlanRewind(request.plan(), &plan).ok());
  const absl::Status made = Made(&rpc::MakeRewindSheet, request);
  ASSERT_TRUE(made.ok()) << made;
  EXPECT_EQ(code_, rpc::CodeOf(DemoRecord()));
  EXPECT_THAT(text_, HasSubstr(code_));
  EXPECT_THAT(text_, HasSubstr(DemoRecord().title()));
  const v1::WindingOption& way = plan.options(1);
  for (const auto& strand : way.conductor().strands())
    EXPECT_THAT(text_, HasSubstr(absl::StrCat(strand.wires_in_hand(), " x ", strand.designation())));
  const Units si(false);
  ASSERT_EQ(way.resistance_size(), 3);
  for (const v1::ExpectedResistance& at : way.resistance()) {
    EXPECT_THAT(text_, HasSubstr(si.Number(Quantity::kOhms, at.line_to_line_ohms().nominal())));
    EXPECT_THAT(text_, HasSubstr(si.Range(Quantity::kOhms, at.line_to_line_ohms())));
  }
  EXPECT_THAT(text_, HasSubstr(si.Number(Quantity::kMassKg, way.wire_orders(0).order_kg())));
  for (const char* text : {"1 slot, throw 1-2", "star, 1 circuit", "12 coils, tooth coil, double layer",
                           "U: 1 start (1)", "1 finish (2) to 4 start (4)", "12 finish (1)"})
    EXPECT_THAT(text_, HasSubstr(text));
  // The room of the coil heads and the pins, as recorded.
  EXPECT_THAT(text_, HasSubstr("End bell leaves 10 mm"));
  EXPECT_THAT(text_, HasSubstr("earth D green-yellow"));
  for (const v1::Material& material : plan.materials()) EXPECT_THAT(text_, HasSubstr(material.material()));
  EXPECT_THAT(text_, HasSubstr("1500 V ac"));  // withstand of the assembled machine
  for (const std::string& caution : plan.cautions()) EXPECT_THAT(text_, HasSubstr(caution));
  EXPECT_THAT(text_, HasSubstr(absl::StrCat("data revision ", std::string(standards::DataRevision()))));

  request.mutable_document()->set_units(v1::PRINT_UNITS_SHOP);
  ASSERT_TRUE(Made(&rpc::MakeRewindSheet, request).ok());
  EXPECT_THAT(text_, HasSubstr(Units(true).Number(Quantity::kMassKg, way.wire_orders(0).order_kg())));
  EXPECT_THAT(text_, HasSubstr("68 F"));
}

TEST_F(JobSheets, AChangedWindingShowsItsNewRatingAndThatItIsNotTheRecords) {
  v1::MakeRewindSheetRequest request;
  *request.mutable_plan()->mutable_record() = DemoRecord();
  request.mutable_plan()->mutable_wires()->set_best(1);
  ASSERT_TRUE(Made(&rpc::MakeRewindSheet, request).ok());
  EXPECT_THAT(text_, HasSubstr("Rated 190 V"));
  EXPECT_THAT(text_, Not(HasSubstr(code_ + " changed")));
  request.mutable_plan()->mutable_change()->set_rated_volts(400);
  v1::PlanRewindResponse plan;
  ASSERT_TRUE(rpc::PlanRewind(request.plan(), &plan).ok());
  const std::string amps = absl::StrCat(print::Figures(plan.turns().line_amps_rms()), " A rms");
  ASSERT_LT(plan.turns().line_amps_rms(), 4) << "of the plate: 5.4";
  ASSERT_TRUE(Made(&rpc::MakeRewindSheet, request).ok());
  EXPECT_THAT(text_, HasSubstr(absl::StrCat("400 V, ", amps, ", 1.4 kW, 3000 rpm")));
  EXPECT_THAT(text_, HasSubstr("Plate says 190 V"));
  EXPECT_THAT(text_, HasSubstr(code_ + " changed"));
  EXPECT_EQ(code_, rpc::CodeOf(DemoRecord())) << "the archive finds the record by it";

  v1::MakeConnectionLabelRequest label;
  *label.mutable_plan() = request.plan();
  ASSERT_TRUE(Made(&rpc::MakeConnectionLabel, label).ok());
  EXPECT_THAT(text_, HasSubstr(absl::StrCat("400 V line to line, rms, ", amps, ", 1.4 kW, 3000 rpm")));
  EXPECT_THAT(text_, HasSubstr("changed"));
  EXPECT_THAT(text_, Not(HasSubstr("190 V")));
  EXPECT_EQ(code_, rpc::CodeOf(DemoRecord()));
  label.mutable_plan()->clear_change();
  ASSERT_TRUE(Made(&rpc::MakeConnectionLabel, label).ok());
  EXPECT_THAT(text_, HasSubstr("190 V line to line, rms"));
  EXPECT_THAT(text_, Not(HasSubstr("changed")));
}

TEST_F(JobSheets, LengthsAndTemperaturesOfAShopOfInchesStandOnce) {
  v1::MakeRewindSheetRequest request;
  *request.mutable_plan()->mutable_record() = DemoRecord();
  request.mutable_plan()->mutable_settings()->mutable_bench_temperature()->set_celsius(20);
  request.mutable_document()->set_units(v1::PRINT_UNITS_SHOP);
  ASSERT_TRUE(Made(&rpc::MakeRewindSheet, request).ok());
  EXPECT_THAT(text_, HasSubstr("Bore 2.362 in"));  // 60 mm
  EXPECT_THAT(text_, Not(HasSubstr("Bore 60 mm")));
  EXPECT_THAT(text_, HasSubstr("End bell leaves 0.394 in"));
  const size_t first = text_.find(" 68 F ");
  ASSERT_NE(first, std::string::npos);
  EXPECT_EQ(text_.find(" 68 F ", first + 1), std::string::npos) << text_;
}

TEST_F(JobSheets, LeadsOnOnePinAreWarnedOf) {
  v1::MakeRewindSheetRequest sheet;
  *sheet.mutable_plan()->mutable_record() = DemoRecord();
  ASSERT_TRUE(Made(&rpc::MakeRewindSheet, sheet).ok());
  EXPECT_THAT(text_, Not(HasSubstr("recorded on pin")));
  sheet.mutable_plan()->mutable_record()->mutable_machine()->mutable_leads(0)->set_pin("B");
  ASSERT_TRUE(Made(&rpc::MakeRewindSheet, sheet).ok());
  EXPECT_THAT(text_, HasSubstr("Leads U, V are all recorded on pin B"));
  EXPECT_THAT(text_, Not(HasSubstr("NOT TO BE WOUND")));
  v1::MakeConnectionLabelRequest label;
  *label.mutable_plan() = sheet.plan();
  ASSERT_TRUE(Made(&rpc::MakeConnectionLabel, label).ok());
  EXPECT_THAT(text_, HasSubstr("Leads U, V are all recorded on pin B"));
}

TEST_F(JobSheets, DocumentsOfAJobSayWhoseItIsAndTheLabelWhatItIsOn) {
  v1::CreateJobRequest create;
  create.mutable_job()->set_winding("windings/seamer");
  create.mutable_job()->set_title("turns shorted, third time");
  create.mutable_job()->set_customer_reference("Harbour Lane cannery, order 12");
  create.set_job_id("7114");
  create.set_recorded_by("A. Winder");
  Ok(&rpc::CreateJob, create);
  Ok(&rpc::ChoosePlan, Choose(Now()));
  v1::MakeRewindSheetRequest sheet;
  sheet.set_job("jobs/7114");
  ASSERT_TRUE(Made(&rpc::MakeRewindSheet, sheet).ok());
  for (const char* text : {"Job jobs/7114", "Customer Harbour Lane cannery, order 12", "turns shorted, third time"})
    EXPECT_THAT(text_, HasSubstr(text));
  v1::MakeConnectionLabelRequest label;
  label.set_job("jobs/7114");
  ASSERT_TRUE(Made(&rpc::MakeConnectionLabel, label).ok());
  EXPECT_THAT(text_, Not(HasSubstr("turns shorted")));
  for (const char* text : {"seamer head motor, serial 0417", "Job jobs/7114", "1.4 kW", "3000 rpm", "Thermal class F"})
    EXPECT_THAT(text_, HasSubstr(text));
  EXPECT_THAT(text_, Not(HasSubstr("page 2")));
}

TEST_F(JobSheets, ARecordThatIsWrongIsNotToBeWound) {
  v1::MakeRewindSheetRequest request;
  *request.mutable_plan() = Parse<v1::PlanRewindRequest>(kConcentric);
  ASSERT_TRUE(Made(&rpc::MakeRewindSheet, request).ok());
  EXPECT_THAT(text_, HasSubstr("NOT TO BE WOUND YET"));
}

TEST_F(JobSheets, ACertificateSaysWhatWasReadWithWhatAndWhatItMeans) {
  auto request = Parse<v1::MakeTestCertificateRequest>(
      R"(readings {
           stage: STAGE_TREATED
           machine { kind: MACHINE_KIND_INDUCTION nameplate { rated_volts: 400 rated_power { kw: 3 } serial_text: "HL 7" } }
           readings { megohms { insulation_megohms: 900 winding_temperature { celsius: 22 } test_volts_dc: 500
                                temperature_evidence: TEMPERATURE_EVIDENCE_SENSOR
                                instrument { name: "megohm meter 2" calibration_due: "2027-03-31" uncertainty_ratio: 0.05 } } } }
         run_samples { seconds: 30 test_volts_dc: 500 insulation_megohms: 700 }
         run_samples { seconds: 60 test_volts_dc: 500 insulation_megohms: 900 }
         run_summary { minimum_megohms: 5 })");
  v1::JudgeReadingsResponse judged;
  ASSERT_TRUE(rpc::JudgeReadings(request.readings(), &judged).ok());
  const absl::Status made = Made(&rpc::MakeTestCertificate, request);
  ASSERT_TRUE(made.ok()) << made;
  ASSERT_GT(judged.tests_size(), 0);
  const v1::JudgedTest& test = judged.tests(0);
  for (const std::string& text :
       {std::string("Stage: treated"), std::string("22 C (sensor)"),
        std::string("megohm meter 2, calibrated until 2027-03-31, uncertainty 5.0 % (k = 2)"),
        std::string("900 megohms"), absl::StrCat(print::Figures(test.corrected()), " megohms at 40 C"),
        std::string("at least 5 megohms at"), judged.summary(), std::string("serial HL 7"),
        std::string("ieee43.minimum.random_wound Least megohms of a random-wound stator IEEE 43, 2000, 2013"),
        std::string("seconds of test voltage"), std::string("megohms, as read"),
        std::string("least at 40 C: 5 megohms"), std::string("Measured by, date"), std::string("Released by, date"),
        absl::StrCat("data revision ", judged.data_revision())})
    EXPECT_THAT(text_, HasSubstr(text));
  for (const std::string& caution : judged.cautions()) EXPECT_THAT(text_, HasSubstr(caution));
}

TEST_F(JobSheets, DocumentsOfAJobCarryTheCodeItsWindingIsFoundBy) {
  Job();
  Ok(&rpc::ChoosePlan, Choose(Now()));
  v1::MakeRewindSheetRequest sheet;
  sheet.set_job("jobs/7114");
  absl::Status made = Made(&rpc::MakeRewindSheet, sheet);
  ASSERT_TRUE(made.ok()) << made;
  v1::GetWindingRequest get;
  get.set_name("windings/seamer");
  EXPECT_EQ(code_, Ok(&rpc::GetWinding, get).winding().code());
  v1::MakeConnectionLabelRequest label;
  label.set_job("jobs/7114");
  const std::string of_sheet = code_;
  made = Made(&rpc::MakeConnectionLabel, label);
  ASSERT_TRUE(made.ok()) << made;
  EXPECT_EQ(code_, of_sheet);
  EXPECT_THAT(text_, HasSubstr("Star, 1 circuit"));
  EXPECT_THAT(text_, ::testing::Not(HasSubstr("page 2")));
  v1::ListWindingsRequest find;
  find.mutable_filter()->set_text(of_sheet);
  EXPECT_EQ(Ok(&rpc::ListWindings, find).windings_size(), 1);
  find.mutable_filter()->set_text("00000000");
  EXPECT_EQ(Ok(&rpc::ListWindings, find).windings_size(), 0);
}

TEST_F(JobSheets, ACertificateOfAJobHasTheLastReadingsOfEveryStageItsTrendAndItsRelease) {
  FanJob();
  const double megohms[] = {900, 640, 450, 330};
  for (int i = 0; i < 4; ++i) Ok(&rpc::AddReadings, MegohmsOf("jobs/7114", 2015 + i, megohms[i]));
  Ok(&rpc::AddReadings, Sound("jobs/7114"));
  Ok(&rpc::SignOffJob, SignOff(Now()));
  v1::MakeTestCertificateRequest request;
  request.set_job("jobs/7114");
  const absl::Status made = Made(&rpc::MakeTestCertificate, request);
  ASSERT_TRUE(made.ok()) << made;
  for (const char* text :
       {"Stage: in service, jobs/7114/readings/4", "2018", "330 megohms", "Stage: assembled, jobs/7114/readings/5",
        "Surge comparison of the turn insulation", "Megohms of this machine over the years",
        "C. Inspector, licensed electrician, card 4711", "goes back to line 2", "Verdict then sound", "Job jobs/7114",
        "megohms at 40 C", "least: 5 megohms"})
    EXPECT_THAT(text_, HasSubstr(text));
  EXPECT_THAT(text_, ::testing::Not(HasSubstr("readings/3")));
}

TEST_F(JobSheets, WhatCannotBeMadeIsNamed) {
  v1::MakeRewindSheetRequest sheet;
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeRewindSheet, sheet)), ElementsAre("plan"));
  sheet.set_job("jobs/7114");
  EXPECT_EQ(Made(&rpc::MakeRewindSheet, sheet).code(), absl::StatusCode::kNotFound);
  Job();
  EXPECT_EQ(Made(&rpc::MakeRewindSheet, sheet).code(), absl::StatusCode::kFailedPrecondition) << "no plan";
  sheet.set_way(1);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeRewindSheet, sheet)), ElementsAre("way"));
  *sheet.mutable_plan()->mutable_record() = DemoRecord();
  sheet.set_way(900);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeRewindSheet, sheet)), ElementsAre("way"));
  sheet.mutable_plan()->mutable_record()->mutable_machine()->mutable_core()->set_slots(-1);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeRewindSheet, sheet)), ::testing::Contains("plan.record.machine.core.slots"));
  v1::MakeTestCertificateRequest certificate;
  certificate.set_job("jobs/7114");
  EXPECT_EQ(Made(&rpc::MakeTestCertificate, certificate).code(), absl::StatusCode::kFailedPrecondition)
      << "no readings";
  certificate.add_run_samples()->set_seconds(1);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeTestCertificate, certificate)), ElementsAre("run_summary"));
}

}  // namespace
}  // namespace coilwright::calls
