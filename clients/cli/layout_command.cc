#include "layout_command.h"

#include <set>

#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "command.h"
#include "layout_print.h"
#include "request.h"

namespace coilwright::cli {
namespace {

absl::Status Describe(Session& session) {
  const auto& words = session.arguments.words();
  if (absl::Status one = ExpectWords(session.arguments, 0, 1, "flags, or a layout such as 36/4,pitch=8"); !one.ok()) {
    return one;
  }
  v1::DescribeLayoutRequest request;
  if (!words.empty()) {
    v1::Layout layout;
    if (absl::Status read = ReadLayoutText(words[0], &layout); !read.ok()) return read;
    *request.mutable_layout() = layout.pattern();
    *request.mutable_coils() = layout.coils();
    request.set_connection(layout.connection());
  }
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::DescribeLayoutResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : PrintLayout(answer);
  return absl::OkStatus();
}

absl::Status CompareLayouts(Session& session) {
  const auto& words = session.arguments.words();
  if (absl::Status two = ExpectWords(session.arguments, 2, 2, "two layouts, such as 36/4,pitch=8"); !two.ok())
    return two;
  v1::CompareLayoutsRequest request;
  const auto read_one = [&](size_t word, const char* which, v1::Layout* layout) {
    const absl::Status read = ReadLayoutText(words[word], layout);
    return read.ok() ? read : absl::InvalidArgumentError(absl::StrCat("the ", which, " ", read.message()));
  };
  if (absl::Status read = read_one(0, "first", request.mutable_first()); !read.ok()) return read;
  if (absl::Status read = read_one(1, "second", request.mutable_second()); !read.ok()) return read;
  v1::CompareLayoutsResponse answer;
  const FieldNamer name = [&words](const std::string& field) {
    return absl::StrCat(words[absl::StartsWith(field, "first") ? 0 : 1], " (", field, ")");
  };
  if (absl::Status called = session.connection.Call(request, &answer, name); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : PrintComparison(answer);
  return absl::OkStatus();
}

// "U1-6": a coil of U out in slot 1 and back in slot 6.
bool ReadCoil(absl::string_view text, v1::Layout* layout) {
  const size_t phase = text.empty() ? absl::string_view::npos : absl::string_view("UVW").find(text[0]);
  const std::vector<absl::string_view> slots = absl::StrSplit(text.substr(text.empty() ? 0 : 1), '-');
  int go_slot = 0, return_slot = 0;
  if (phase == absl::string_view::npos || slots.size() != 2 || !absl::SimpleAtoi(slots[0], &go_slot) ||
      !absl::SimpleAtoi(slots[1], &return_slot)) {
    return false;
  }
  v1::TracedCoil* coil = layout->add_coils();
  coil->set_phase(static_cast<v1::Phase>(phase + 1));
  coil->set_go_slot(go_slot);
  coil->set_return_slot(return_slot);
  return true;
}

}  // namespace

absl::Status ReadLayoutText(absl::string_view text, v1::Layout* layout) {
  constexpr absl::string_view kForm =
      "SLOTS/POLES[,pitch=N][,layers=single|double][,form=FORM][,first=SLOT][,order=with-slots|against-slots]"
      "[,end=non-drive|drive][,connect=star|delta|open], or SLOTS/POLES and coils as U1-6,V5-10,W9-14";
  const auto wrong = [&](absl::string_view part) {
    return absl::InvalidArgumentError(absl::StrCat("layout: got \"", part, "\", accepted: ", kForm));
  };
  const std::vector<std::string> parts = absl::StrSplit(text, ',');
  const std::vector<std::string> size = absl::StrSplit(parts[0], '/');
  if (size.size() != 2) return wrong(parts[0]);
  v1::LayoutPattern* pattern = layout->mutable_pattern();
  if (!SetField(pattern, "slots", size[0]).ok() || !SetField(pattern, "poles", size[1]).ok()) return wrong(parts[0]);
  static const auto* const fields = new std::vector<std::pair<absl::string_view, absl::string_view>>{
      {"pitch", "coil_pitch_slots"}, {"layers", "layers"},     {"form", "coil_form"},
      {"first", "first_slot"},       {"order", "phase_order"}, {"end", "connection_end"}};
  std::set<std::string> given;
  for (size_t i = 1; i < parts.size(); ++i) {
    const std::pair<std::string, std::string> pair = absl::StrSplit(parts[i], absl::MaxSplits('=', 1));
    bool known = ReadCoil(parts[i], layout);
    // A coil traced twice is two coils in its slots.
    if (!known && !given.insert(pair.first).second) {
      return absl::InvalidArgumentError(absl::StrCat("layout: ", pair.first, ": given twice"));
    }
    for (const auto& [name, field] : *fields) {
      if (pair.first != name) continue;
      known = true;
      if (absl::Status set = SetField(pattern, field, pair.second); !set.ok()) {
        return absl::InvalidArgumentError(absl::StrCat("layout: ", name, ": ", set.message()));
      }
    }
    if (pair.first == "connect") {
      known = true;
      if (absl::Status set = SetField(layout, "connection", pair.second); !set.ok()) {
        return absl::InvalidArgumentError(absl::StrCat("layout: connect: ", set.message()));
      }
    }
    if (!known) return wrong(parts[i]);
  }
  return absl::OkStatus();
}

std::vector<Flag> LayoutFlags() {
  return {{"slots", "N", "layout.slots", "slots of the core, 3 to 720"},
          {"poles", "N", "layout.poles", "poles, not pole pairs, 2 to 120"},
          {"pitch", "N", "layout.coil_pitch_slots",
           "slots spanned: throw 1-6 is pitch 5; mean pitch of concentric groups; "
           "1 where only tooth coils fit"},
          {"layers", "HOW", "layout.layers", "double (default), single"},
          {"form", "FORM", "layout.coil_form", "lap (default), concentric, chain, tooth-coil"},
          {"circuits", "N", "parallel_circuits", "parallel circuits a phase (1)"},
          {"connect", "HOW", "connection", "star (default), delta, open (six leads)"},
          {"first", "SLOT", "layout.first_slot", "slot where the first coil of U starts (1)"},
          {"order", "ORDER", "layout.phase_order", "V after U with-slots (default) or against-slots"},
          {"end", "END", "layout.connection_end", "end with the connections: non-drive (default), drive"}};
}

std::vector<Command> LayoutCommands() {
  std::vector<Flag> flags = LayoutFlags();
  flags.push_back({"harmonics", "N", "most_harmonic", "winding factors to this working harmonic (13)"});
  flags.push_back({"orders", "N", "most_order", "waves to this number of pole pairs (slots plus pole pairs)"});
  return {
      {"layout compare",
       "whether one layout can stand for another",
       "LAYOUT LAYOUT",
       {},
       CompareLayouts,
       "A layout is SLOTS/POLES and, by commas: pitch=8, layers=single, form=concentric, first=3 (slot where U "
       "starts), "
       "order=against-slots, end=drive, connect=delta. Or the coils as traced, phase and slots in the direction of "
       "positive current: "
       "6/2,U1-4,W5-2,V3-6.\n\n"
       "The first is the original. Drop-in says that a drive sees no difference: axis, order and sense are where they "
       "were."},
      {"layout", "coils, connections, slots, axes and factors of a stator winding",
       "LAYOUT | --slots N --poles N [--pitch N]", flags, Describe,
       "LAYOUT as for coilwright layout compare, the coils as traced on an original among them; flags come on top."}};
}

}  // namespace coilwright::cli
