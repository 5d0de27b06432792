#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "coilwright/v1/wire_service.pb.h"
#include "command.h"
#include "request.h"
#include "text.h"
#include "wire_choice.h"
#include "wire_print.h"

namespace coilwright::cli {
namespace {

absl::Status ShowWire(Session& session) {
  if (absl::Status words =
          ExpectWords(session.arguments, 1, 4, "a wire such as \"AWG 18 heavy\" or \"0.71 mm grade 2\"");
      !words.ok())
    return words;
  v1::LookUpWireRequest request;
  request.mutable_wire()->set_designation(absl::StrJoin(session.arguments.words(), " "));
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::LookUpWireResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : PrintWire(answer, session.units);
  return absl::OkStatus();
}

absl::Status ListWires(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, "a series: awg, r20, r40 or swg"); !words.ok())
    return words;
  v1::ListWiresRequest request;
  if (absl::Status set = SetField(&request, "system", session.arguments.words()[0]); !set.ok()) return set;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  request.set_page_size(200);
  v1::ListWiresResponse all;
  do {
    v1::ListWiresResponse page;
    if (absl::Status called = session.Call(request, &page); !called.ok()) return called;
    all.MergeFrom(page);
    all.set_next_page_token(page.next_page_token());
    request.set_page_token(page.next_page_token());
  } while (!request.page_token().empty());
  session.out = session.json ? ToJson(all) : PrintWires(all, session.units);
  return absl::OkStatus();
}

absl::Status Identify(Session& session) {
  if (absl::Status words =
          ExpectWords(session.arguments, 1, 200, "micrometer readings and their unit, such as 1.09 1.10 mm");
      !words.ok())
    return words;
  std::vector<std::string> readings = session.arguments.words();
  // A unit that stands alone at the end is that of every reading without one.
  std::string unit;
  if (readings.size() > 1 && readings.back().find_first_of("0123456789") == std::string::npos) {
    unit = readings.back();
    readings.pop_back();
  }
  v1::IdentifyWireRequest request;
  for (const std::string& reading : readings) {
    const bool bare = reading.find_first_not_of("0123456789.,+-") == std::string::npos;
    if (absl::Status set =
            SetField(&request, "diameters", bare && !unit.empty() ? absl::StrCat(reading, " ", unit) : reading);
        !set.ok()) {
      return set;
    }
  }
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::IdentifyWireResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : PrintCandidates(answer, request.over_film(), session.units);
  return absl::OkStatus();
}

absl::Status Strands(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 0, 0, "flags only; the original stands after --replace");
      !words.ok())
    return words;
  v1::ChooseStrandsRequest request;
  if (absl::Status shelf = FillWireChoice(session, request.mutable_choice()); !shelf.ok()) return shelf;
  if (session.arguments.Has("replace")) {
    if (absl::Status set = ReadStrands(session.arguments.Text("replace"), request.mutable_original()); !set.ok()) {
      return absl::InvalidArgumentError(absl::StrCat("--replace: ", set.message()));
    }
  }
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  if (request.target_case() == v1::ChooseStrandsRequest::TARGET_NOT_SET) {
    return absl::InvalidArgumentError("missing: --replace \"1 x AWG 15 heavy\" or --area 1.65mm2");
  }
  v1::ChooseStrandsResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : PrintStrandChoices(answer, session.units);
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> WireCommands() {
  std::vector<Flag> strands = {
      {"replace", "WIRES", "original",
       "the original conductor: \"1 x AWG 15 heavy\", \"2 x 0.80 mm grade 2 + 1 x 0.71 mm grade 2\"", true},
      {"area", "AREA", "target_area", "or its area: 1.65mm2, 3260cmil"},
      {"slot-area", "MM2", "slot_net_area_mm2", "net area of the slot, to respect fill (mm2)"},
      {"turns-in-slot", "N", "turns_in_slot", "turns in one slot, all layers"},
      {"opening", "LENGTH", "slot_opening", "width of the slot opening: 2.8mm"},
      {"liner", "LENGTH", "liner_thickness", "thickness of the slot liner: 0.25mm"},
      {"length", "LENGTH", "length_per_strand", "wire one strand of the whole winding takes: 310m"}};
  for (const Flag& flag : WireChoiceFlags("choice")) strands.push_back(flag);
  return {
      {"wire show",
       "one wire with its figures and its neighbours",
       "WIRE",
       {{"film", "FILM", "wire.film",
         "where the name does not say: bare, single, heavy, triple, grade-1, grade-2, grade-3"},
        {"celsius", "C", "temperature.celsius", "resistance at this temperature (default 20)"},
        {"fahrenheit", "F", "temperature.fahrenheit", "the same in degrees F"},
        {"metal", "METAL", "metal", "copper (default) or aluminium"},
        {"constants", "SET", "conductor_preset",
         "temperature constants: iec-60034-1 (default), ieee-112, iec-60851-5"}},
       ShowWire,
       "WIRE as said at the bench: \"AWG 18 heavy\", \"0.71 mm grade 2\", \"SWG 22\"."},
      {"wire list",
       "a series of wires",
       "awg|r20|r40|swg",
       {{"film", "FILM", "film", "bare, single, heavy, triple, grade-1, grade-2, grade-3"}},
       ListWires},
      {"wire identify",
       "which wire a micrometer has in its jaws",
       "READING... mm|in|mil",
       {{"over-film", "", "over_film", "the film was still on"},
        {"uncertainty", "LENGTH", "uncertainty", "of one reading, k = 2: 0.005mm (default)"},
        {"most", "N", "most", "at most this many candidates"}},
       Identify,
       "Measure at several places and turn the wire between readings. Burn or dissolve the film off; scraping takes "
       "metal with it."},
      {"wire strands", "wires in hand that replace a conductor", "--replace WIRES", strands, Strands},
  };
}

}  // namespace coilwright::cli
