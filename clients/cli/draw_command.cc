#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "coilwright/v1/sheet_service.pb.h"
#include "command.h"
#include "document_file.h"
#include "layout_command.h"
#include "plan_request.h"
#include "request.h"
#include "wire_choice.h"

namespace coilwright::cli {
namespace {

// What the command writes: the answer as JSON, or its files.
template <typename Response>
absl::Status Deliver(Session& session, const Response& answer) {
  if (session.json && !session.arguments.Has("out")) {
    session.out = ToJson(answer);
    return absl::OkStatus();
  }
  return WriteDocument(session, answer.document(), answer.left_out());
}

// "36/4,pitch=8" begins with a number and a stroke; anything else is a file.
bool IsLayout(const std::string& word) {
  const size_t digits = word.find_first_not_of("0123456789");
  return digits != 0 && digits != std::string::npos && word[digits] == '/';
}

absl::Status DrawWinding(Session& session) {
  const auto& words = session.arguments.words();
  if (absl::Status one =
          ExpectWords(session.arguments, 0, 1, "flags, a layout such as 36/4,pitch=8, or a FILE with a record");
      !one.ok()) {
    return one;
  }
  v1::MakeWindingDrawingRequest request;
  FieldNamer name = FlagNamer(session.arguments);
  if (!words.empty() && IsLayout(words[0])) {
    v1::Layout layout;
    if (absl::Status read = ReadLayoutText(words[0], &layout); !read.ok()) return read;
    *request.mutable_layout() = layout.pattern();
    *request.mutable_coils() = layout.coils();
    request.set_connection(layout.connection());
  } else if (!words.empty()) {
    if (absl::Status read = ReadRecordOrRequest(session, &request, &name); !read.ok()) return read;
  }
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  if (absl::Status chosen = ChooseFormat(session, request.mutable_document()); !chosen.ok()) return chosen;
  v1::MakeWindingDrawingResponse answer;
  if (absl::Status called = session.connection.Call(request, &answer, name); !called.ok()) return called;
  return Deliver(session, answer);
}

absl::Status DrawSlot(Session& session) {
  if (absl::Status words =
          ExpectWords(session.arguments, 1, 1, "a FILE with the record of the winding, or - for standard input");
      !words.ok()) {
    return words;
  }
  v1::MakeSlotDrawingRequest request;
  FieldNamer name;
  if (absl::Status read = ReadRecordOrRequest(session, &request, &name); !read.ok()) return read;
  if (absl::Status shelf = FillWireChoice(session, request.mutable_wires()); !shelf.ok()) return shelf;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  if (absl::Status chosen = ChooseFormat(session, request.mutable_document()); !chosen.ok()) return chosen;
  v1::MakeSlotDrawingResponse answer;
  if (absl::Status called = session.connection.Call(request, &answer, name); !called.ok()) return called;
  return Deliver(session, answer);
}

}  // namespace

std::vector<Command> DrawCommands() {
  std::vector<Flag> winding = LayoutFlags();
  std::vector<Flag> slot = {{"way", "N", "way", "the wires of this way of the plan, instead of those recorded"}};
  for (const auto& more : {ChangeFlags(), WireChoiceFlags("wires")}) slot.insert(slot.end(), more.begin(), more.end());
  for (std::vector<Flag>* flags : {&winding, &slot}) {
    const std::vector<Flag> document = DocumentFlags();
    flags->insert(flags->end(), document.begin(), document.end());
  }
  return {
      {"draw winding", "the winding drawn: from the connection end, unrolled, its connections, its star of slots",
       "LAYOUT | FILE | --slots N --poles N [--pitch N] --out DRAWING.pdf", winding, DrawWinding,
       "LAYOUT as for coilwright layout, the coils as traced on an original among them; FILE is a record as for "
       "coilwright plan, which brings its own slots, poles, coils and connection. Slot 1 is the slot marked against "
       "the lead exit."},
      {"draw slot", "the slot of a recorded winding to scale, with every wire in it", "FILE | - --out DRAWING.pdf",
       slot, DrawSlot,
       "FILE is a record as for coilwright plan, with the shape of its slot. With a change, as --volts or "
       "--circuits, the first way to wind it is drawn."}};
}

}  // namespace coilwright::cli
