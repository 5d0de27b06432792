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
using ::testing::Contains;
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
    warnings_ = {response.document().warnings().begin(), response.document().warnings().end()};
    const auto* const may = response.GetDescriptor()->FindFieldByName("may_be_wound");
    may_be_wound_ = may == nullptr || response.GetReflection()->GetBool(response, may);
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
  std::vector<std::string> warnings_;
  bool may_be_wound_ = false;
};

TEST_F(JobSheets, ARewindSheetSaysWhatThePlanSays) {
  v1::MakeRewindSheetRequest request;
  *request.mutable_plan()->mutable_record() = DemoRecord();
  request.mutable_plan()->mutable_wires()->set_best(3);
  request.mutable_plan()->set_way(2);
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
    EXPECT_THAT(text_, HasSubstr(si.Range(Quantity::kOhms, at.at_terminals_ohms())));
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
  EXPECT_THAT(warnings_, ElementsAre(HasSubstr("Leads U, V are all recorded on pin B")));
  EXPECT_TRUE(may_be_wound_);
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
  EXPECT_THAT(warnings_, Contains(HasSubstr("NOT TO BE WOUND YET")));
  EXPECT_FALSE(may_be_wound_);
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
         run_samples { seconds: 60 test_volts_dc: 500 insulation_megohms: 900 })");
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
        absl::StrCat("least at 22 C: ", print::Figures(5 * 900 / test.corrected()),
                     " megohms (5 of the whole winding at 40 C)"),
        absl::StrCat("After 60 s 900 megohms as read, ", print::Figures(test.corrected()), " megohms at 40 C"),
        std::string("60 s over 30 s 1.29"), std::string("Verdict of the run pass"), std::string("Measured by, date"),
        std::string("Released by, date"), absl::StrCat("data revision ", judged.data_revision())})
    EXPECT_THAT(text_, HasSubstr(text));
  for (const std::string& caution : judged.cautions()) EXPECT_THAT(text_, HasSubstr(caution));
  // The run has read it; without the run it is missing.
  EXPECT_THAT(text_, Not(HasSubstr("Absorption ratio")));
  request.clear_run_samples();
  ASSERT_TRUE(Made(&rpc::MakeTestCertificate, request).ok());
  EXPECT_THAT(text_, HasSubstr("Absorption ratio"));
}

TEST_F(JobSheets, ACertificateHasEveryReadingAsItWasTaken) {
  auto request = Parse<v1::MakeTestCertificateRequest>(
      R"(readings {
           stage: STAGE_ASSEMBLED
           machine { kind: MACHINE_KIND_INDUCTION
                     nameplate { rated_volts: 400 rated_power { kw: 3 } poles: 4 thermal_class: "F" } }
           expected_line_to_line_ohms { nominal: 1.91 low: 1.85 high: 1.97 }
           readings { resistance { line_to_line { u_v_ohms: 1.9231 v_w_ohms: 1.9274 w_u_ohms: 1.9212 leads_ohms: 0.004
                                                  winding_temperature { fahrenheit: 72 }
                                                  temperature_evidence: TEMPERATURE_EVIDENCE_SENSOR } } }
           readings { label: "U to frame" megohms { insulation_megohms: 2000 over_range: true megohms_at_30s: 1500
                                winding_temperature { celsius: 22 } test_volts_dc: 500
                                other_phases: OTHER_PHASES_EARTHED } }
           readings { withstand { volts_shape: VOLTAGE_SHAPE_AC_RMS test_volts: 1800 hold_seconds: 60
                                  leakage_milliamps: [1.2, 1.25] trip_milliamps: 20 } }
           readings { surge { sample_microseconds: 0.5 waves { point: WAVE_POINT_U_V volts: [0, 2310, -1800, 900] }
                              waves { point: WAVE_POINT_V_W volts: [0, 2305, -1810, 905] } } }
           readings { temperature_rise { cold_ohms: 1.91 cold_temperature { celsius: 20 } hot_ohms: 2.45
                                         coolant_temperature { celsius: 24 } seconds_after_switch_off: 12 } }
           readings { observation { kind: TEST_KIND_INDUCTANCE passed: true note: "11.2 to 11.4 mH over a turn" } } })");
  absl::Status made = Made(&rpc::MakeTestCertificate, request);
  ASSERT_TRUE(made.ok()) << made;
  for (const char* text :
       {"U-V 1.9231 ohms, V-W 1.9274 ohms, W-U", "1.9212 ohms", "winding at 72 F (sensor), leads of 0.004 ohms in it",
        "mean 1.924 ohms", "1500 megohms at 30 s, more than 2000 megohms", "(U to frame)",
        "500 V dc, winding at 22 C, phases earthed", "leakage 1.2 to 1.25 mA", "trip at 20 mA", "U-V 2310 V peak",
        "V-W 2305 V peak", "cold 1.91 ohms, hot 2.45 ohms", "1.91 to 2.45 ohms", "hot 12 s after switching off",
        "11.2 to 11.4 mH over a turn"})
    EXPECT_THAT(text_, HasSubstr(text));
}

TEST_F(JobSheets, ACertificateHasTheVoltsOfADrivenMachine) {
  auto request = Parse<v1::MakeTestCertificateRequest>(
      R"(readings {
           stage: STAGE_ASSEMBLED
           machine { kind: MACHINE_KIND_PERMANENT_MAGNET nameplate { rated_volts: 400 poles: 8 } }
           expected_ke_volts_per_krpm { nominal: 34 low: 33 high: 35 }
           magnet_material: MAGNET_MATERIAL_NEODYMIUM
           readings { back_emf { u_v_volts_rms: 34.12 v_w_volts_rms: 34.2 w_u_volts_rms: 34.04 speed_rpm: 1000
                                 magnet_temperature { celsius: 23 } } } })");
  const absl::Status made = Made(&rpc::MakeTestCertificate, request);
  ASSERT_TRUE(made.ok()) << made;
  for (const char* text :
       {"U-V 34.12 V rms, V-W 34.2 V rms, W-U 34.04 V rms", "1000 rpm, magnets at 23 C", "mean 34.12 V rms at"})
    EXPECT_THAT(text_, HasSubstr(text));
}

TEST_F(JobSheets, ACertificateSaysWhatAWithstandHadToHold) {
  auto request = Parse<v1::MakeTestCertificateRequest>(
      R"(readings {
           stage: STAGE_ASSEMBLED
           machine { kind: MACHINE_KIND_INDUCTION nameplate { rated_volts: 400 rated_power { kw: 3 } } }
           readings { megohms { insulation_megohms: 900 winding_temperature { celsius: 22 } test_volts_dc: 500 } }
           readings { withstand { volts_shape: VOLTAGE_SHAPE_AC_RMS test_volts: 1850 hold_seconds: 61 } } })");
  ASSERT_TRUE(Made(&rpc::MakeTestCertificate, request).ok());
  // IEC 60034-1: twice the rated volts and 1000 V, for a minute.
  EXPECT_THAT(text_, HasSubstr("no breakdown at"));
  EXPECT_THAT(text_, HasSubstr("1800 V ac rms for 60 s;"));
  EXPECT_THAT(text_, HasSubstr("1850 V ac rms for 61 s"));
  EXPECT_THAT(text_, ::testing::Not(HasSubstr("no limit in the standard")));
  request.mutable_readings()->mutable_readings(1)->mutable_withstand()->add_leakage_milliamps(1.5);
  request.mutable_readings()->mutable_readings_choice()->set_most_leakage_milliamps(5);
  ASSERT_TRUE(Made(&rpc::MakeTestCertificate, request).ok());
  EXPECT_THAT(text_, HasSubstr("1800 V ac rms for 60 s"));
  EXPECT_THAT(text_, HasSubstr("at most 5 mA"));
}

TEST_F(JobSheets, ARunOnACertificateIsOneOfItsMachineAndSummedUpAnew) {
  auto request = Parse<v1::MakeTestCertificateRequest>(
      R"(readings {
           stage: STAGE_TREATED
           machine { kind: MACHINE_KIND_INDUCTION nameplate { rated_volts: 400 rated_power { kw: 3 } } }
           readings { megohms { insulation_megohms: 0.09 winding_temperature { celsius: 22 } test_volts_dc: 500 } } }
         run_samples { seconds: 30 test_volts_dc: 500 insulation_megohms: 0.08 }
         run_samples { seconds: 60 test_volts_dc: 500 insulation_megohms: 0.09 })");
  ASSERT_TRUE(Made(&rpc::MakeTestCertificate, request).ok());
  EXPECT_THAT(text_, HasSubstr("Insulation run: FAIL"));
  EXPECT_THAT(text_, ::testing::Not(HasSubstr("But read")));
  auto other = request;
  for (auto& sample : *other.mutable_run_samples()) sample.set_insulation_megohms(1e4 * sample.insulation_megohms());
  ASSERT_TRUE(Made(&rpc::MakeTestCertificate, other).ok());
  EXPECT_THAT(text_, HasSubstr("But read 0.09 megohms of the last stage, not the 900 of this run"));
  auto wrong = request;
  wrong.mutable_run_samples(0)->set_seconds(-1);
  wrong.mutable_run_samples(1)->set_insulation_megohms(-3);
  absl::Status made = Made(&rpc::MakeTestCertificate, wrong);
  EXPECT_THAT(FieldsOf(made), ElementsAre("run_samples[0].seconds", "run_samples[1].insulation_megohms"));
  EXPECT_THAT(std::string(made.message()), HasSubstr("more than 0 s since the voltage was applied, at most 1000000 s"));
  wrong = request;
  wrong.mutable_run_samples(1)->set_seconds(20);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeTestCertificate, wrong)), ElementsAre("run_samples[1].seconds"));
  wrong = request;
  wrong.mutable_run_setup()->set_rated_volts(4000);
  wrong.mutable_run_setup()->set_winding_kind(v1::INSULATED_WINDING_KIND_FORM_WOUND);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeTestCertificate, wrong)),
              ElementsAre("run_setup.rated_volts", "run_setup.winding_kind"));
  wrong = request;
  wrong.mutable_run_setup()->set_charge_seconds(900);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeTestCertificate, wrong)), ElementsAre("run_setup.charge_seconds"));
  // Another voltage than the rule's is drawn and said.
  for (auto& sample : *request.mutable_run_samples()) sample.set_test_volts_dc(5000);
  ASSERT_TRUE(Made(&rpc::MakeTestCertificate, request).ok());
  EXPECT_THAT(text_, HasSubstr("5000 V"));
  // Without a temperature nothing is corrected, and no limit is drawn.
  request.mutable_readings()->mutable_readings()->RemoveLast();
  request.mutable_readings()->add_readings()->mutable_observation()->set_kind(v1::TEST_KIND_VISUAL);
  request.mutable_readings()->mutable_readings(0)->mutable_observation()->set_passed(true);
  ASSERT_TRUE(Made(&rpc::MakeTestCertificate, request).ok());
  EXPECT_THAT(text_, HasSubstr("not drawn beside readings that are not corrected"));
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
        "megohms at 40 C", "least: 5 megohms", "year"})
    EXPECT_THAT(text_, HasSubstr(text));
  EXPECT_THAT(text_, Not(HasSubstr("months since")));
  EXPECT_THAT(text_, ::testing::Not(HasSubstr("readings/3")));
}

TEST_F(JobSheets, WhatCannotBeMadeIsNamed) {
  v1::MakeRewindSheetRequest sheet;
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeRewindSheet, sheet)), ElementsAre("plan"));
  sheet.set_job("jobs/7114");
  EXPECT_EQ(Made(&rpc::MakeRewindSheet, sheet).code(), absl::StatusCode::kNotFound);
  Job();
  EXPECT_EQ(Made(&rpc::MakeRewindSheet, sheet).code(), absl::StatusCode::kFailedPrecondition) << "no plan";
  *sheet.mutable_plan()->mutable_record() = DemoRecord();
  sheet.mutable_plan()->set_way(900);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeRewindSheet, sheet)), ElementsAre("plan.way"));
  sheet.mutable_plan()->mutable_record()->mutable_machine()->mutable_core()->set_slots(-1);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeRewindSheet, sheet)), ::testing::Contains("plan.record.machine.core.slots"));
  v1::MakeTestCertificateRequest certificate;
  certificate.set_job("jobs/7114");
  EXPECT_EQ(Made(&rpc::MakeTestCertificate, certificate).code(), absl::StatusCode::kFailedPrecondition)
      << "no readings";
  certificate.mutable_run_setup()->set_rated_volts(400);
  EXPECT_THAT(FieldsOf(Made(&rpc::MakeTestCertificate, certificate)), ElementsAre("run_samples"));
}

}  // namespace
}  // namespace coilwright::calls
