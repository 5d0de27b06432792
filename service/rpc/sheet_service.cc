#include <algorithm>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "plan/as_wound.h"
#include "rpc/drawn_winding.h"
#include "rpc/methods.h"
#include "rpc/read_layout.h"
#include "rpc/read_record.h"
#include "rpc/sheets.h"
#include "rpc/write.h"
#include "sheet/slot_drawing.h"
#include "sheet/winding_drawing.h"
#include "standards/tables.h"

namespace coilwright::rpc {
namespace {

using Errors = std::vector<standards::FieldError>;

// What a record and a change say of the winding, and where the request lays it.
absl::StatusOr<sheet::WindingDrawing> DrawingOfRecord(const Reader& reader, const plan::Record& record, bool traced,
                                                      Errors* errors) {
  const plan::Change change = ReadChange(reader.At("change"));
  if (traced) reader.WrongBeside("coils", "given beside a record", "one of the two");
  if (reader.Has("parallel_circuits")) {
    reader.WrongBeside("parallel_circuits", "given beside a record, which has its own",
                       "nothing; another number stands in change.parallel_circuits");
  }
  const bool open = reader.Enum<winding::PhaseEnds>("connection") == winding::PhaseEnds::kOpen;
  if (reader.EnumNumber("connection") > 0 && !open) {
    reader.WrongBeside("connection", "star or delta beside a record, which has its own",
                       "CONNECTION_OPEN, or nothing; another connection stands in change.connection");
  }
  winding::Placement place;
  ReadPlace(reader.At("layout"), record.core.slots, &place);
  if (!errors->empty()) {
    AddMissing(reader.At("record"), record);
    return standards::InvalidFields(*errors);
  }
  return DrawingOf(record, change, place, open);
}

absl::StatusOr<sheet::WindingDrawing> DrawingOfLayout(const Reader& reader, Errors* errors) {
  Connected winding;
  if (reader.Has("change")) reader.WrongBeside("change", "given without a record", "a record beside it");
  winding.asked = ReadAskedLayout(reader, errors);
  winding.ends = reader.Enum<winding::PhaseEnds>("connection").value_or(winding::PhaseEnds::kStar);
  winding.circuits = reader.Count("parallel_circuits", 1, 120).value_or(1);
  if (!errors->empty()) return standards::InvalidFields(*errors);
  return DrawingOf(winding);
}

// The strands of the way that is asked for, or those recorded.
absl::StatusOr<std::vector<plan::RecordedStrand>> StrandsOf(const plan::Record& record, const plan::Change& change,
                                                            const plan::WireChoice& wires,
                                                            const plan::Settings& settings, std::optional<int> way) {
  if (!way && !change.any()) return record.winding.strands;
  const absl::StatusOr<plan::RewindPlan> plan = plan::MakePlan(record, change, wires, {}, settings);
  if (!plan.ok()) return plan.status();
  if (plan->options.empty()) {
    return absl::FailedPreconditionError(
        absl::StrCat("the plan has no way to wind it: ", absl::StrJoin(plan->left_out, "; ")));
  }
  const size_t chosen = static_cast<size_t>(way.value_or(1));
  if (chosen > plan->options.size()) {
    return standards::InvalidField("way", absl::StrCat(chosen),
                                   absl::StrCat("1 to ", plan->options.size(), ", the ways of the plan"));
  }
  return plan->options[chosen - 1].strands;
}

sheet::SlotDrawing DrawingOf(const plan::AsWound& wound, const plan::SlotContent& content, std::string title) {
  sheet::SlotDrawing drawing;
  drawing.title = std::move(title);
  drawing.shape = *wound.record.core.shape;
  drawing.insulation = wound.record.core.insulation;
  drawing.area = content.area;
  drawing.turns = content.turns;
  drawing.side_by_side = wound.record.winding.form == winding::CoilForm::kToothCoil && content.turns.size() > 1;
  drawing.bundle = content.bundle;
  drawing.fill = content.fill;
  for (const plan::RecordedStrand& strand : content.strands) {
    drawing.wires.push_back(absl::StrCat(strand.wires_in_hand, " \u00D7 ", strand.wire.designation));
    if (strand.wire.film_assumed) {
      drawing.notes.push_back(absl::StrCat("The film of ", strand.wire.designation, " was assumed."));
    }
  }
  const auto& turns = content.turns;
  if (!wound.record.winding.groups.empty()) {
    drawing.notes.push_back(absl::StrCat("The coils of a group may differ: this is the slot that holds most turns",
                                         turns.size() > 1 ? ", half of them in each layer." : "."));
  }
  if (drawing.insulation.liner_mm + drawing.insulation.coating_mm <= 0) {
    drawing.notes.push_back("No liner was recorded.");
  }
  drawing.data_revision = Str(standards::DataRevision());
  return drawing;
}

}  // namespace

absl::Status MakeWindingDrawing(const v1::MakeWindingDrawingRequest& request,
                                v1::MakeWindingDrawingResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  plan::Record record;
  if (request.has_record()) record = ReadRecord(reader.At("record"), false);
  const SheetChoice choice = ReadSheetChoice(reader.At("document"), record.title);
  absl::StatusOr<sheet::WindingDrawing> drawing =
      request.has_record() ? DrawingOfRecord(reader, record, !request.coils().empty(), &errors)
                           : DrawingOfLayout(reader, &errors);
  if (!drawing.ok()) return drawing.status();
  drawing->title = choice.title.empty()
                       ? absl::StrCat(drawing->layout.slots, " slots, ", drawing->layout.poles, " poles")
                       : choice.title;
  response->set_data_revision(drawing->data_revision);
  return MakeDocument(
      choice, [&](sheet::Canvas& canvas) { return sheet::DrawWinding(*drawing, choice.paper, canvas); },
      response->mutable_document(), response->mutable_left_out());
}

absl::Status MakeSlotDrawing(const v1::MakeSlotDrawingRequest& request, v1::MakeSlotDrawingResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  const plan::Record record = ReadRecord(reader.At("record"));
  const plan::Change change = ReadChange(reader.At("change"));
  const plan::WireChoice wires = ReadWireChoice(reader.At("wires"));
  const plan::Settings settings = ReadSettings(reader.At("settings"));
  const std::optional<int> way = reader.Count("way", 1, 100);
  const SheetChoice choice = ReadSheetChoice(reader.At("document"), record.title);
  if (!errors.empty()) {
    AddMissing(reader.At("record"), record);
    return standards::InvalidFields(errors);
  }
  const absl::StatusOr<plan::AsWound> wound = plan::WindingAsWound(record, change);
  if (!wound.ok()) return wound.status();
  const auto strands = StrandsOf(record, change, wires, settings, way);
  if (!strands.ok()) return strands.status();
  const absl::StatusOr<plan::SlotContent> content = plan::ContentOfSlot(*wound, *strands);
  if (!content.ok()) return content.status();
  const sheet::SlotDrawing drawing =
      DrawingOf(*wound, *content, choice.title.empty() ? "Slot of a stator" : choice.title);
  response->set_data_revision(drawing.data_revision);
  return MakeDocument(
      choice, [&](sheet::Canvas& canvas) { return sheet::DrawSlot(drawing, choice.paper, canvas); },
      response->mutable_document(), response->mutable_left_out());
}

}  // namespace coilwright::rpc
