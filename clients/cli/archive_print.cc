#include "archive_print.h"

#include <set>
#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/str_split.h"
#include "check_print.h"
#include "plan_print.h"
#include "request.h"
#include "rules_print.h"
#include "text.h"
#include "words.h"

namespace coilwright::cli {
namespace {

using Align = Table::Align;
using Facts = std::vector<std::pair<std::string, std::string>>;

std::string WireText(const v1::WireSize& wire) {
  std::string text;
  if (!wire.designation().empty())
    text = wire.designation();
  else if (const auto mm = Millimetres(wire.bare_diameter()))
    text = absl::StrCat(Figures(*mm), " mm bare");
  if (wire.film() != v1::FILM_UNSPECIFIED) absl::StrAppend(&text, " ", EnumText(wire.film()));
  return text;
}

std::string StrandsText(const v1::Winding& winding) {
  std::vector<std::string> parts;
  for (const v1::Strand& strand : winding.strands()) {
    parts.push_back(
        absl::StrCat(strand.has_wires_in_hand() ? strand.wires_in_hand() : 1, " x ", WireText(strand.wire())));
  }
  return absl::StrJoin(parts, " + ");
}

std::string TurnsText(const v1::Winding& winding) {
  std::vector<std::string> parts;
  if (winding.has_turns_per_coil()) parts.push_back(absl::StrCat(winding.turns_per_coil()));
  for (const v1::CoilGroup& group : winding.groups()) parts.push_back(GroupWords(group));
  return absl::StrJoin(parts, "; ");
}

std::string CoilsText(const v1::Winding& winding) {
  std::vector<std::string> parts;
  if (winding.coil_form() != v1::COIL_FORM_UNSPECIFIED) parts.push_back(EnumText(winding.coil_form()));
  if (winding.layers() != v1::LAYERS_UNSPECIFIED) parts.push_back(absl::StrCat(EnumText(winding.layers()), " layer"));
  if (winding.has_coil_pitch_slots()) {
    parts.push_back(
        absl::StrCat("pitch ", winding.coil_pitch_slots(), " (throw 1-", winding.coil_pitch_slots() + 1, ")"));
  }
  return absl::StrJoin(parts, ", ");
}

std::string JoinsText(const v1::Winding& winding) {
  std::vector<std::string> parts;
  if (winding.connection() != v1::CONNECTION_UNSPECIFIED) parts.push_back(EnumText(winding.connection()));
  if (winding.has_parallel_circuits()) {
    parts.push_back(CircuitWords(winding.parallel_circuits()));
  }
  return absl::StrJoin(parts, ", ");
}

std::string ResistanceText(const v1::LineToLineResistance& read, const Units& units) {
  const auto ohms = [](bool has, double value) { return has ? Figures(value) : std::string("-"); };
  if (!read.has_u_v_ohms() && !read.has_v_w_ohms() && !read.has_w_u_ohms()) return "";
  std::string text =
      absl::StrCat(ohms(read.has_u_v_ohms(), read.u_v_ohms()), ", ", ohms(read.has_v_w_ohms(), read.v_w_ohms()), ", ",
                   ohms(read.has_w_u_ohms(), read.w_u_ohms()), " ohm");
  const v1::Temperature& at = read.winding_temperature();
  if (at.as_read_case() == v1::Temperature::AS_READ_NOT_SET) return text;
  const double celsius = at.as_read_case() == v1::Temperature::kCelsius ? at.celsius() : (at.fahrenheit() - 32) / 1.8;
  return absl::StrCat(text, " at ", units.Text(Quantity::kCelsius, celsius));
}

std::string MassText(const v1::WindingMass& mass, const Units& units) {
  double kg = 0;
  switch (mass.mass().as_read_case()) {
    case v1::Mass::kKg:
      kg = mass.mass().kg();
      break;
    case v1::Mass::kGrams:
      kg = mass.mass().grams() / 1000;
      break;
    case v1::Mass::kPounds:
      kg = mass.mass().pounds() * 0.45359237;
      break;
    case v1::Mass::kOunces:
      kg = mass.mass().ounces() * 0.45359237 / 16;
      break;
    default:
      return "";
  }
  return absl::StrCat(units.Text(Quantity::kMassKg, kg), ", ", EnumText(mass.basis()));
}

// Where the values came from: "counted: winding.turns_per_coil (3 times); estimated: ...".
void PrintEvidence(const v1::WindingRecord& record, Page* page) {
  if (record.evidence().empty()) return;
  page->Heading("How it is known");
  Table table({{"value", {}}, {"known by", {}}, {"counts or readings", {}}});
  for (const v1::FieldEvidence& e : record.evidence()) {
    std::vector<std::string> repeats;
    for (double value : e.repeats()) repeats.push_back(Figures(value, 6));
    table.Add({e.field(), EnumText(e.evidence()), absl::StrJoin(repeats, ", ")});
    table.Note(e.note());
  }
  page->Add(table);
}

std::string CheckRefusedText(const v1::StatusDetails& refused) {
  v1::FieldViolations violations;
  for (const auto& detail : refused.details()) {
    if (!violations.ParseFromString(detail.value()) || violations.field_violations().empty()) continue;
    const auto& first = violations.field_violations(0);
    return absl::StrCat(first.field(), ": ", first.description());
  }
  return refused.message();
}

void PrintCheckOf(const v1::ArchivedWinding& winding, Page* page) {
  if (winding.has_check()) {
    PrintConclusion(winding.check(), page);
  } else {
    page->Heading("Record check: not possible");
    page->Item(CheckRefusedText(winding.check_refused()));
  }
}

// A value of a record as it is said: "lap" for COIL_FORM_LAP, "-" for one that was not taken down.
std::string ValueText(const std::string& path, const std::string& value) {
  if (value.empty()) return "-";
  const auto* message = v1::WindingRecord::descriptor();
  const google::protobuf::FieldDescriptor* field = nullptr;
  for (absl::string_view step : absl::StrSplit(path, '.')) {
    field = message == nullptr ? nullptr : message->FindFieldByName(std::string(step.substr(0, step.find('['))));
    message = field == nullptr ? nullptr : field->message_type();
  }
  const auto* type = field == nullptr ? nullptr : field->enum_type();
  const auto* named = type == nullptr ? nullptr : type->FindValueByName(value);
  return named == nullptr ? value : EnumText(named);
}

std::string Titled(absl::string_view name, absl::string_view title) {
  return absl::StrCat(name, title.empty() ? "" : ": ", title);
}

}  // namespace

std::string WindingText(const v1::Winding& winding) {
  std::vector<std::string> parts;
  if (const std::string turns = TurnsText(winding); !turns.empty()) parts.push_back(absl::StrCat(turns, " turns"));
  for (const std::string& text : {StrandsText(winding), CoilsText(winding), JoinsText(winding)}) {
    if (!text.empty()) parts.push_back(text);
  }
  return absl::StrJoin(parts, ", ");
}

std::string RevisionText(const v1::Revision& revision) {
  return absl::StrCat(revision.number(), " of ", Moment(revision.time()), " by ", revision.recorded_by(),
                      revision.reason().empty() ? "" : ": ", revision.reason());
}

void PrintKept(const v1::ArchivedWinding& winding, absl::string_view done, Page* page) {
  // Alone in the first line, so that `head -1` has it.
  page->Title(winding.name());
  page->Facts({{std::string(done), winding.record().title()},
               {"revision", RevisionText(winding.revision())},
               {"taken down", Day(winding.taken_down_time())}});
  PrintCheckOf(winding, page);
  if (winding.has_check() && !MayBeWound(winding.check())) {
    page->Blank();
    page->Paragraph(absl::StrCat("Kept as it was given. Once it is settled: coilwright archive change ",
                                 ShortName(winding.name()), " --set PATH=VALUE --by PERSON --reason TEXT"));
  }
}

std::string PrintWinding(const v1::ArchivedWinding& winding, const Units& units) {
  Page page;
  const v1::WindingRecord& record = winding.record();
  const v1::Machine& machine = record.machine();
  const v1::Core& core = machine.core();
  page.Title(Titled(winding.name(), record.title()));
  if (winding.revision().deleted()) page.Item("SET ASIDE: lists leave it out", "!");
  page.Facts({{"revision", RevisionText(winding.revision())},
              {"first kept", Moment(winding.create_time())},
              {"taken down", Day(winding.taken_down_time())},
              {"code", winding.code()},
              {"old codes", absl::StrJoin(winding.earlier_codes(), ", ")}});
  page.Heading("Machine");
  page.Facts({{"kind", machine.kind() == v1::MACHINE_KIND_UNSPECIFIED ? "" : EnumText(machine.kind())},
              {"plate", PlateText(machine.nameplate())},
              {"on it", PlateWords(machine.nameplate())},
              {"poles", machine.nameplate().has_poles() ? absl::StrCat(machine.nameplate().poles()) : ""},
              {"slots", core.has_slots() ? absl::StrCat(core.slots()) : ""},
              {"bore", LengthText(core.bore_diameter(), units)},
              {"outside", LengthText(core.outer_diameter(), units)},
              {"stack", LengthText(core.stack_length(), units)}});
  page.Heading("Winding");
  page.Facts({{"turns per coil", TurnsText(record.winding())},
              {"one turn", StrandsText(record.winding())},
              {"coils", CoilsText(record.winding())},
              {"joined", JoinsText(record.winding())},
              {"mean turn", LengthText(record.winding().mean_turn(), units)},
              {"resin", record.winding().resin()},
              {"between the leads", ResistanceText(record.measured().resistance(), units)},
              {"copper", MassText(record.measured().mass(), units)},
              {"note", record.note()}});
  PrintCheckOf(winding, &page);
  PrintEvidence(record, &page);
  page.Blank();
  page.Paragraph(absl::StrCat("data revision of the check ", winding.data_revision()));
  page.Paragraph(absl::StrCat("To plan from it: coilwright archive show ", ShortName(winding.name()),
                              " --record | coilwright plan -"));
  return page.text();
}

std::string PrintWindings(const v1::ListWindingsResponse& list, const Units& units) {
  Page page;
  Table table({{"winding", {}},
               {"slots/poles", Align::kRight},
               {"plate", {}},
               {absl::StrCat("bore / outside / stack, ", units.Name(Quantity::kLengthMm)), Align::kRight},
               {"check", {}},
               {"taken down", {}}});
  for (const v1::WindingSummary& winding : list.windings()) {
    table.Add({ShortName(winding.name()), SlotsAndPoles(winding), PlateText(winding), CoreText(winding, units),
               winding.revision().deleted() ? "SET ASIDE" : CheckWord(winding.verdict()),
               Day(winding.has_taken_down_time() ? winding.taken_down_time() : winding.create_time())});
    const std::string words = PlateWords(winding);
    table.Note(absl::StrCat(winding.title(), winding.title().empty() || words.empty() ? "" : "; ", words));
  }
  page.Add(table);
  return page.text();
}

std::string PrintNearest(const v1::FindNearestWindingsResponse& answer, const Units& units) {
  Page page;
  page.Title(answer.windings().empty()
                 ? "No recorded winding is near this stator"
                 : "Recorded windings nearest to this stator: something to start from, no record to wind by");
  int rank = 0;
  for (const v1::NearWinding& near : answer.windings()) {
    const v1::WindingSummary& winding = near.winding();
    page.Heading(absl::StrCat(++rank, ". ", Titled(winding.name(), winding.title())));
    page.Facts(
        {{"distance", absl::StrFormat("%.2f (0 the same, 1 as far as machines of one frame differ)", near.distance())},
         {"on its plate",
          absl::StrCat(PlateText(winding), PlateWords(winding).empty() ? "" : "; ", PlateWords(winding))},
         {"slots/poles", SlotsAndPoles(winding)},
         {"bore / outside / stack", CoreText(winding, units).empty()
                                        ? ""
                                        : absl::StrCat(CoreText(winding, units), " ", units.Name(Quantity::kLengthMm))},
         {"its check", CheckWord(winding.verdict())}});
    if (!near.differences().empty()) {
      page.Blank();
      Table table({{"differs in", {}},
                   {"this stator", Align::kRight},
                   {"recorded", Align::kRight},
                   {"recorded / this", Align::kPoint}});
      for (const v1::NearDifference& d : near.differences())
        table.Add({d.field(), d.wanted(), d.recorded(), d.has_ratio() ? Fixed(d.ratio(), 3) : ""});
      page.Add(table);
    }
    if (near.has_scaled()) {
      const v1::ScaledWinding& scaled = near.scaled();
      page.Blank();
      page.Facts(
          {{"on this core it becomes",
            absl::StrCat(scaled.turns_per_coil(), " turns per coil (exact ", Figures(scaled.exact_turns_per_coil()),
                         "), ", ConnectionWords(scaled.connection(), scaled.parallel_circuits()), ", for ",
                         Figures(scaled.rated_volts()), " V")},
           {"conductor area",
            scaled.has_conductor_area_ratio()
                ? absl::StrCat(Fixed(scaled.conductor_area_ratio(), 3), " of the recorded, at its current density")
                : ""},
           {"flux per pole", absl::StrCat(Fixed(scaled.flux_ratio(), 3), " of the recorded")}});
    }
    page.List(near.notes());
  }
  if (!answer.cautions().empty()) page.Heading("Cautions");
  for (const std::string& caution : answer.cautions()) {
    page.Item(
        absl::StrReplaceAll(caution, {{"EstimateMissing", "coilwright estimate"}, {"CheckRecord", "coilwright check"}}),
        "!");
  }
  std::set<std::string> rules;
  CollectRules(answer.rule_uses(), &rules);
  for (const v1::NearWinding& near : answer.windings()) CollectRules(near.scaled().rule_uses(), &rules);
  PrintRules(rules, answer.data_revision(), &page);
  return page.text();
}

void PrintDifferences(const google::protobuf::RepeatedPtrField<v1::RecordDifference>& differences,
                      absl::string_view first, absl::string_view second, Page* page) {
  // A longer text would push the others apart: it goes below its field.
  constexpr int kLongest = 24;
  if (differences.empty()) page->Paragraph("nothing");
  Table table({{"field", {}}, {std::string(first), {}}, {"ratio", Align::kPoint}, {std::string(second), {}}});
  for (const v1::RecordDifference& d : differences) {
    const std::string was = ValueText(d.field(), d.first()), is = ValueText(d.field(), d.second());
    if (Width(was) > kLongest) {
      table.Add({d.field()});
      table.Note(absl::StrCat(first, ": ", was, "; ", second, ": ", is));
    } else {
      table.Add({d.field(), was, d.has_ratio() ? Fixed(d.ratio(), 4) : "", is});
    }
  }
  page->Add(table);
}

std::string PrintComparison(const v1::CompareWindingsResponse& answer, absl::string_view first,
                            absl::string_view second) {
  Page page;
  page.Title("windings compared");
  const auto text = [](const v1::WindingSummary& winding) {
    return absl::StrCat(Titled(winding.name(), winding.title()), ", revision ", RevisionText(winding.revision()),
                        "; check ", CheckWord(winding.verdict()));
  };
  page.Facts({{"first", text(answer.first())},
              {"second", text(answer.second())},
              {"fields", absl::StrCat(answer.differences_size(), " differ, ", answer.same_fields(), " are the same")}});
  page.Blank();
  PrintDifferences(answer.differences(), first, second, &page);
  return page.text();
}

}  // namespace coilwright::cli
