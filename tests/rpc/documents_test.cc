// Every document as it was drawn last, byte for byte; and rewind sheets of every size of stator, legible and connected
// as the API says.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <fstream>
#include <functional>
#include <map>
#include <regex>
#include <set>
#include <sstream>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"
#include "calls/samples.h"
#include "print/figures.h"
#include "rpc/archive_methods.h"
#include "rpc/methods.h"
#include "rpc/rewind_sheet.h"
#include "sheet/noting_canvas.h"
#include "sheet/read_back.h"
#include "standards/tables.h"

namespace coilwright::calls {
namespace {

using ::testing::HasSubstr;
using ::testing::IsEmpty;

struct Made {
  std::string name;
  std::function<v1::Document(const v1::DocumentChoice&)> make;
};

template <typename Request, typename Response>
Made Of(std::string name, absl::Status (*body)(const Request&, Response*), const Request& request) {
  return {std::move(name), [=](const v1::DocumentChoice& choice) {
            Request chosen = request;
            *chosen.mutable_document() = choice;
            Response response;
            const absl::Status status = body(chosen, &response);
            EXPECT_TRUE(status.ok()) << status;
            return response.document();
          }};
}

template <typename Request, typename Response>
Made Of(std::string name, absl::Status (*body)(archive::Archive*, const Request&, Response*), const Request& request) {
  return {std::move(name), [=](const v1::DocumentChoice& choice) {
            Request chosen = request;
            *chosen.mutable_document() = choice;
            Response response;
            const absl::Status status = body(nullptr, chosen, &response);
            EXPECT_TRUE(status.ok()) << status;
            return response.document();
          }};
}

v1::MakeTestCertificateRequest Certificate() {
  auto request = Parse<v1::MakeTestCertificateRequest>(
      R"(readings {
           stage: STAGE_TREATED
           machine { kind: MACHINE_KIND_INDUCTION nameplate { rated_volts: 400 rated_power { kw: 3 } serial_text: "HL 7" } }
           readings { resistance { line_to_line { u_v_ohms: 1.923 v_w_ohms: 1.927 w_u_ohms: 1.921
                                                  winding_temperature { celsius: 22 } } } }
           readings { megohms { insulation_megohms: 3 winding_temperature { celsius: 22 } test_volts_dc: 500 } } })");
  for (const int seconds : {1, 2, 5, 10, 30, 60, 120}) {
    v1::InsulationSample* sample = request.add_run_samples();
    sample->set_seconds(seconds);
    sample->set_test_volts_dc(500);
    sample->set_insulation_megohms(100 + 13 * seconds);
  }
  return request;
}

std::vector<Made> All() {
  v1::MakeWindingDrawingRequest winding;
  *winding.mutable_record() = DemoRecord();
  v1::MakeSlotDrawingRequest slot;
  *slot.mutable_record() = DemoRecord();
  v1::MakeRewindSheetRequest sheet;
  *sheet.mutable_plan()->mutable_record() = DemoRecord();
  v1::MakeConnectionLabelRequest label;
  *label.mutable_plan()->mutable_record() = DemoRecord();
  return {
      Of("winding-12", &rpc::MakeWindingDrawing, winding),
      Of("winding-72", &rpc::MakeWindingDrawing,
         Parse<v1::MakeWindingDrawingRequest>(
             "layout { slots: 72 poles: 12 coil_pitch_slots: 5 } parallel_circuits: 6")),
      Of("slot", &rpc::MakeSlotDrawing, slot),
      Of("rewind-sheet", &rpc::MakeRewindSheet, sheet),
      Of("label", &rpc::MakeConnectionLabel, label),
      Of("certificate", &rpc::MakeTestCertificate, Certificate()),
  };
}

// FNV-1a, 64 bits: tells two files apart, no more.
std::string SumOf(const std::string& text) {
  uint64_t sum = 14695981039346656037u;
  for (const char c : text) sum = (sum ^ static_cast<unsigned char>(c)) * 1099511628211u;
  return absl::StrFormat("%016x", sum);
}

// Pages of SVG without what changes with the fonts of a system or with every table: the font in it, the data revision.
std::string Kept(const v1::Document& document) {
  std::string all;
  for (const std::string& page : document.files()) absl::StrAppend(&all, page);
  all = std::regex_replace(all, std::regex("base64,[A-Za-z0-9+/=]*"), "base64,");
  return absl::StrReplaceAll(all, {{std::string(standards::DataRevision()), "REVISION"}});
}

// tests/golden/documents.txt: a name, a paper and the sum of its pages in a line. Where text stands follows from the
// widths of DejaVu Sans as Debian 12 has it with its Pango and HarfBuzz: on another system the sums may be others
// though nothing is wrong. Look at the file that the failure names before its new line goes there.
TEST(Documents, AreWhatTheyWere) {
  std::ifstream file(COILWRIGHT_SOURCE_DIR "/tests/golden/documents.txt");
  std::stringstream golden;
  golden << file.rdbuf();
  const std::vector<std::string> lines = absl::StrSplit(golden.str(), '\n', absl::SkipEmpty());
  const std::set<std::string> expected(lines.begin(), lines.end());
  std::set<std::string> made;
  for (const Made& document : All()) {
    for (const v1::Paper paper : {v1::PAPER_A4, v1::PAPER_LETTER}) {
      v1::DocumentChoice choice;
      choice.set_format(v1::DOCUMENT_FORMAT_SVG);
      choice.set_paper(paper);
      const std::string kept = Kept(document.make(choice));
      const std::string page = paper == v1::PAPER_A4 ? "a4" : "letter";
      const std::string line = absl::StrCat(document.name, " ", page, " ", SumOf(kept));
      made.insert(line);
      if (expected.count(line) > 0) continue;
      const std::string path = absl::StrCat(::testing::TempDir(), document.name, "-", page, ".svg");
      std::ofstream(path) << kept;
      ADD_FAILURE() << "changed: " << line << ", see " << path;
    }
  }
  EXPECT_EQ(made.size(), expected.size());
}

TEST(Documents, AreTheSameBytesAgainWithTextAndEveryFontInside) {
  for (const Made& document : All()) {
    v1::DocumentChoice choice;
    choice.set_title("Harbour Lane cannery, line 2");
    const v1::Document pdf = document.make(choice);
    ASSERT_EQ(pdf.files_size(), 1);
    EXPECT_EQ(pdf.files(0), document.make(choice).files(0)) << document.name;
    EXPECT_THAT(sheet::PdfText(pdf.files(0)), HasSubstr("Harbour Lane cannery, line 2")) << document.name;
    const std::vector<std::string> fonts = absl::StrSplit(sheet::PdfFonts(pdf.files(0)), '\n', absl::SkipEmpty());
    ASSERT_GT(fonts.size(), 2u);
    // emb, sub, uni: in the file, only what is used of it, and with the letters it stands for.
    for (size_t i = 2; i < fonts.size(); ++i) EXPECT_THAT(fonts[i], HasSubstr(" yes yes yes ")) << document.name;
  }
}

// A stator of each size with the coils of its pattern; the figures of its machine do not matter here.
struct Stator {
  int slots, poles, pitch;
  v1::CoilForm form;
  v1::Layers layers;
  v1::Connection connection;
  int circuits;
};

v1::PlanRewindRequest PlanOf(const Stator& stator) {
  auto request = Parse<v1::PlanRewindRequest>(kInduction);
  v1::Machine* machine = request.mutable_record()->mutable_machine();
  machine->mutable_core()->set_slots(stator.slots);
  machine->mutable_core()->mutable_bore_diameter()->set_mm(5.0 * stator.slots);
  machine->mutable_core()->mutable_outer_diameter()->set_mm(8.0 * stator.slots);
  machine->mutable_nameplate()->set_poles(stator.poles);
  machine->mutable_nameplate()->set_speed_rpm(5700.0 / stator.poles);
  machine->mutable_nameplate()->clear_rated_torque_nm();
  v1::Winding* winding = request.mutable_record()->mutable_winding();
  winding->set_coil_pitch_slots(stator.pitch);
  winding->set_coil_form(stator.form);
  winding->set_layers(stator.layers);
  winding->set_connection(stator.connection);
  winding->set_parallel_circuits(stator.circuits);
  return request;
}

class RewindSheets : public ::testing::TestWithParam<Stator> {};

// "4 finish (10)"
std::string EndOf(const v1::DescribeLayoutResponse& layout, const v1::LaidCoilEnd& end) {
  return absl::StrCat(layout.coils(end.coil()).group(), end.finish() ? " finish (" : " start (", end.slot(), ")");
}

TEST_P(RewindSheets, ListEveryJointOfTheApiAndAreLegible) {
  const Stator& stator = GetParam();
  v1::DescribeLayoutRequest ask;
  ask.mutable_layout()->set_slots(stator.slots);
  ask.mutable_layout()->set_poles(stator.poles);
  ask.mutable_layout()->set_coil_pitch_slots(stator.pitch);
  ask.mutable_layout()->set_coil_form(stator.form);
  ask.mutable_layout()->set_layers(stator.layers);
  ask.set_connection(stator.connection);
  ask.set_parallel_circuits(stator.circuits);
  v1::DescribeLayoutResponse layout;
  ASSERT_TRUE(rpc::DescribeLayout(ask, &layout).ok());
  std::vector<std::string> joints;
  for (const v1::LaidJoint& joint : layout.connections().joints()) {
    if (joint.kind() == v1::JOINT_KIND_WITHIN_GROUP) continue;
    std::vector<std::string> ends;
    for (const v1::LaidCoilEnd& end : joint.ends()) ends.push_back(EndOf(layout, end));
    if (joint.kind() == v1::JOINT_KIND_BETWEEN_GROUPS) {
      ASSERT_EQ(ends.size(), 2u);
      joints.push_back(absl::StrCat("\u2610 ", ends[0], " to ", ends[1]));
      continue;
    }
    const std::string lead =
        joint.kind() == v1::JOINT_KIND_LEAD ? absl::StrCat(std::string(1, "UVW"[joint.lead() - 1]), ": ") : "";
    for (const std::string& end : ends) joints.push_back(absl::StrCat("\u2610 ", lead, end));
  }
  const v1::PlanRewindRequest request = PlanOf(stator);
  v1::PlanRewindResponse plan;
  const absl::Status planned = rpc::PlanRewind(request, &plan);
  ASSERT_TRUE(planned.ok()) << planned;
  for (const bool shop : {false, true}) {
    const sheet::PageSize size = sheet::SizeOf(shop ? sheet::Paper::kLetter : sheet::Paper::kA4, false);
    auto canvas = sheet::NewCanvas(sheet::Format::kPdf, "");
    ASSERT_TRUE(canvas.ok()) << canvas.status();
    sheet::NotingCanvas noting(*std::move(canvas));
    sheet::Draw(rpc::RewindSheet(request, plan, "7KQ2-M0XC", print::Units(shop)), size, noting);
    EXPECT_THAT(sheet::Illegible(noting), IsEmpty());
    EXPECT_LE(noting.pages().size(), 3u);
    int listed = 0;
    for (const sheet::NotedText& text : noting.texts()) listed += absl::StartsWith(text.text, "\u2610") ? 1 : 0;
    EXPECT_EQ(listed, static_cast<int>(joints.size()));
    const auto files = noting.Finish();
    ASSERT_TRUE(files.ok()) << files.status();
    const std::string text = sheet::PdfText(files->front());
    for (const std::string& joint : joints) EXPECT_THAT(text, HasSubstr(joint));
  }
}

std::string NameOf(const ::testing::TestParamInfo<Stator>& info) {
  return absl::StrCat("Slots", info.param.slots, "Circuits", info.param.circuits);
}

constexpr auto kLap = v1::COIL_FORM_LAP;
constexpr auto kDouble = v1::LAYERS_DOUBLE;
INSTANTIATE_TEST_SUITE_P(Stators, RewindSheets,
                         ::testing::Values(Stator{12, 2, 5, kLap, kDouble, v1::CONNECTION_STAR, 2},
                                           Stator{24, 4, 6, v1::COIL_FORM_CONCENTRIC, v1::LAYERS_SINGLE,
                                                  v1::CONNECTION_DELTA, 1},
                                           Stator{36, 4, 8, kLap, kDouble, v1::CONNECTION_STAR, 2},
                                           Stator{48, 4, 11, kLap, kDouble, v1::CONNECTION_DELTA, 4},
                                           Stator{72, 12, 5, kLap, kDouble, v1::CONNECTION_STAR, 1},
                                           Stator{72, 12, 5, kLap, kDouble, v1::CONNECTION_DELTA, 12}),
                         NameOf);

// Groups that the pattern does not lay: the sheet is made all the same, and says why it lists nothing.
TEST(RewindSheet, WithoutAListSaysWhy) {
  auto request = Parse<v1::PlanRewindRequest>(kConcentric);
  auto* group = request.mutable_record()->mutable_winding()->mutable_groups(0);
  group->mutable_coils(0)->set_span_slots(4);
  group->mutable_coils(1)->set_span_slots(8);
  v1::PlanRewindResponse plan;
  ASSERT_TRUE(rpc::PlanRewind(request, &plan).ok());
  const sheet::Document document = rpc::RewindSheet(request, plan, "", print::Units(false));
  const auto block = std::find_if(document.blocks.begin(), document.blocks.end(),
                                  [](const sheet::Block& b) { return b.heading == "Connections"; });
  ASSERT_NE(block, document.blocks.end());
  EXPECT_THAT(std::get<sheet::List>(block->content).items[0], HasSubstr("not listed: the groups of the record span"));
}

// Cells of every table of a sheet, row by row.
std::vector<std::vector<std::string>> RowsOfSheet(const v1::PlanRewindRequest& request) {
  v1::PlanRewindResponse plan;
  EXPECT_TRUE(rpc::PlanRewind(request, &plan).ok());
  std::vector<std::vector<std::string>> rows;
  for (const sheet::Block& block : rpc::RewindSheet(request, plan, "", print::Units(false)).blocks) {
    if (const auto* table = std::get_if<sheet::Table>(&block.content))
      rows.insert(rows.end(), table->rows.begin(), table->rows.end());
  }
  return rows;
}

// Of a phase before they are joined, of the way that is wound, and at the leads: star, so half.
TEST(Documents, ARewindSheetAsksForTheResistanceOfTheWayThatIsWound) {
  v1::PlanRewindRequest request;
  *request.mutable_record() = DemoRecord();
  request.set_way(2);
  v1::PlanRewindResponse plan;
  ASSERT_TRUE(rpc::PlanRewind(request, &plan).ok());
  const v1::Band& leads = plan.options(1).resistance(0).at_terminals_ohms();
  const auto limit = [&](double share) {
    return absl::StrCat(print::Figures(share * leads.low()), " to ", print::Figures(share * leads.high()),
                        " ohms at 20 C");
  };
  std::map<std::string, std::string> asked;
  for (const auto& row : RowsOfSheet(request)) asked.emplace(row[0], row.size() > 1 ? row[1] : "");
  EXPECT_EQ(asked["Phase resistance, against the expected value"], limit(0.5));
  EXPECT_EQ(asked["Winding resistance, against the expected value"], limit(1));
}

TEST(RewindSheet, NamesGroupsAndHasRoomForTheTestsBeforeThePhasesAreJoined) {
  const auto lap = RowsOfSheet(Parse<v1::PlanRewindRequest>(kInduction));
  using ::testing::Contains;
  using ::testing::ElementsAre;
  EXPECT_THAT(lap, Contains(ElementsAre("Groups", "12 groups of 3 coils", "12 groups of 3 coils", sheet::kToWrite)));
  EXPECT_THAT(lap,
              Contains(ElementsAre("Insulation resistance, phase to phase", HasSubstr("megohms"), sheet::kToWrite)));
  EXPECT_THAT(lap, Contains(ElementsAre("Polarity of coils and groups", "note", sheet::kToWrite)));
  EXPECT_THAT(lap, Contains(ElementsAre("AC withstand, phase to the others and frame", HasSubstr(" V ac rms"),
                                        sheet::kToWrite)));
  EXPECT_THAT(RowsOfSheet(Parse<v1::PlanRewindRequest>(kConcentric)),
              Contains(ElementsAre("Groups", "6 groups: 40 turns over 5 slots, 44 turns over 7 slots",
                                   "6 groups: 38 turns over 5 slots, 42 turns over 7 slots", sheet::kToWrite)));
}

}  // namespace
}  // namespace coilwright::calls
