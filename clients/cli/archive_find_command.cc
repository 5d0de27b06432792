#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "archive_paging.h"
#include "archive_print.h"
#include "archive_save.h"
#include "archive_text.h"
#include "coilwright/v1/job_service.pb.h"
#include "command.h"
#include "request.h"

namespace coilwright::cli {
namespace {

absl::Status FillRanges(const Arguments& arguments, v1::WindingFilter* filter) {
  const std::vector<std::pair<const char*, RangeOf>> ranges = {
      {"slots", RangeOf::kCount},  {"poles", RangeOf::kCount},  {"volts", RangeOf::kFigure},
      {"kw", RangeOf::kPower},     {"speed", RangeOf::kFigure}, {"bore", RangeOf::kLength},
      {"outer", RangeOf::kLength}, {"stack", RangeOf::kLength}};
  v1::NumberRange* const fields[] = {filter->mutable_slots(),       filter->mutable_poles(),
                                     filter->mutable_rated_volts(), filter->mutable_rated_kw(),
                                     filter->mutable_speed_rpm(),   filter->mutable_bore_mm(),
                                     filter->mutable_outer_mm(),    filter->mutable_stack_length_mm()};
  for (size_t i = 0; i < ranges.size(); ++i) {
    const auto& [flag, what] = ranges[i];
    if (!arguments.Has(flag)) continue;
    if (absl::Status read = ReadRange(arguments.Text(flag), what, fields[i]); !read.ok())
      return absl::Status(read.code(), absl::StrCat("--", flag, ": ", read.message()));
  }
  return absl::OkStatus();
}

absl::Status Find(Session& session) {
  v1::ListWindingsRequest request;
  request.mutable_filter()->set_text(absl::StrJoin(session.arguments.words(), " "));
  if (absl::Status ranges = FillRanges(session.arguments, request.mutable_filter()); !ranges.ok()) return ranges;
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::ListWindingsResponse all;
  if (absl::Status read = ReadPages(session, &request, &all, &v1::ListWindingsResponse::windings_size); !read.ok())
    return read;
  if (session.json) {
    session.out = ToJson(all);
    return absl::OkStatus();
  }
  if (all.windings().empty()) return absl::NotFoundError("no recorded winding fits");
  if (session.arguments.Has("names")) {
    for (const auto& winding : all.windings()) absl::StrAppend(&session.out, winding.name(), "\n");
    return absl::OkStatus();
  }
  session.out = absl::StrCat(PrintWindings(all, session.units), FoundText(all.windings_size(), all.next_page_token()));
  return absl::OkStatus();
}

absl::Status Near(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 0, 1,
                                       "a FILE with the machine or a record of it, - for standard input, or flags");
      !words.ok())
    return words;
  v1::FindNearestWindingsRequest request;
  FieldNamer name = FlagNamer(session.arguments);
  if (!session.arguments.words().empty()) {
    const auto source = ReadJsonFile(session.arguments.words()[0], session.in);
    if (!source.ok()) return source.status();
    // Only a record has "machine" at its top; of it the machine counts.
    const bool whole = source->lines.count("machine") > 0;
    v1::WindingRecord record;
    if (absl::Status parsed = whole ? ParseJson(*source, &record) : ParseJson(*source, request.mutable_machine());
        !parsed.ok())
      return parsed;
    if (whole) *request.mutable_machine() = record.machine();
    name = [source = *source, flag_name = FlagNamer(session.arguments), whole,
            &arguments = session.arguments](const std::string& field) {
      return arguments.GivenFlagFor(field).empty() ? PlaceOf(source, whole ? "" : "machine", field) : flag_name(field);
    };
  }
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  // The contract takes 0 for 5 and more than 20 for 20.
  if (session.arguments.Has("most") && (request.most() < 1 || request.most() > 20)) {
    return absl::InvalidArgumentError(
        absl::StrCat("--most: got \"", session.arguments.Text("most"), "\", accepted: a whole number from 1 to 20"));
  }
  v1::FindNearestWindingsResponse answer;
  if (absl::Status called = session.connection.Call(request, &answer, name); !called.ok()) return called;
  if (session.json) {
    session.out = ToJson(answer);
  } else if (session.arguments.Has("names")) {
    for (const auto& near : answer.windings()) absl::StrAppend(&session.out, near.winding().name(), "\n");
  } else {
    session.out = PrintNearest(answer, session.units);
  }
  return absl::OkStatus();
}

std::string PrintRevisions(const std::string& name, const google::protobuf::RepeatedPtrField<v1::Revision>& revisions) {
  Page page;
  page.Title(name);
  Table table({{"revision", Table::Align::kRight}, {"when", {}}, {"by", {}}, {"", {}}, {"why", {}}});
  for (const v1::Revision& revision : revisions) {
    table.Add({absl::StrCat(revision.number()), Moment(revision.time()), revision.recorded_by(),
               revision.deleted() ? "SET ASIDE" : "", revision.reason()});
  }
  page.Add(table);
  return page.text();
}

template <class Request, class Answer>
absl::Status HistoryOf(Session& session, const std::string& name) {
  Request request;
  request.set_name(name);
  Answer all;
  if (absl::Status read = ReadPages(session, &request, &all, &Answer::revisions_size); !read.ok()) return read;
  session.out =
      session.json
          ? ToJson(all)
          : absl::StrCat(PrintRevisions(name, all.revisions()),
                         all.next_page_token().empty() ? "" : FoundText(all.revisions_size(), all.next_page_token()));
  return absl::OkStatus();
}

absl::Status History(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, "one NAME, windings/... or jobs/..."); !words.ok())
    return words;
  const auto named = ReadName(session.arguments.words()[0], {"windings", "jobs"});
  if (!named.ok()) return named.status();
  if (named->name.rfind("jobs/", 0) == 0)
    return HistoryOf<v1::ListJobRevisionsRequest, v1::ListJobRevisionsResponse>(session, named->name);
  return HistoryOf<v1::ListWindingRevisionsRequest, v1::ListWindingRevisionsResponse>(session, named->name);
}

}  // namespace

std::vector<Command> ArchiveFindCommands() {
  std::vector<Flag> find = {
      {"slots", "RANGE", "filter.slots", "number of slots: 36, or 36..48", true},
      {"poles", "RANGE", "filter.poles", "number of poles", true},
      {"volts", "RANGE", "filter.rated_volts", "rated voltage: 400, 380..415, 500..", true},
      {"kw", "RANGE", "filter.rated_kw", "rated power in kW; 0.75, 0.5..1, \"1 hp\"", true},
      {"speed", "RANGE", "filter.speed_rpm", "rated speed in rpm", true},
      {"bore", "RANGE", "filter.bore_mm", "bore: \"95 mm\", 3.74in, \"90..100 mm\"", true},
      {"outer", "RANGE", "filter.outer_mm", "outside diameter of the core", true},
      {"stack", "RANGE", "filter.stack_length_mm", "length of the stack", true},
      {"kind", "KIND", "filter.kind", "permanent-magnet, induction"},
      {"verdict", "VERDICT", "filter.verdict", "of the record check: sound, explained, unexplained, undecided"},
      {"set-aside", "", "show_deleted", "those that were set aside too"},
      NamesFlag()};
  for (const Flag& flag : PagingFlags()) find.push_back(flag);
  return {{"archive find", "recorded windings by words, plate, slots and core",
           "[WORDS...] [--slots N] [--bore RANGE] ...", find, Find,
           "WORDS must all occur, each at the beginning of a word of title, plate, note or name; capitals and accents "
           "do not "
           "count. A single figure stands for what rounds to it: --bore \"95 mm\" finds 94.5 to 95.5 mm, --bore 95.0mm "
           "finds "
           "94.95 to 95.05 mm. Newest first."},
          {"archive near",
           "recorded windings that lie nearest to a burnt stator",
           "[FILE | -] [--slots N --bore LENGTH ...]",
           {{"slots", "N", "machine.core.slots", "slots; needed"},
            {"bore", "LENGTH", "machine.core.bore_diameter", "bore: 95mm, 3.74in; needed"},
            {"outer", "LENGTH", "machine.core.outer_diameter", "outside diameter of the core"},
            {"stack", "LENGTH", "machine.core.stack_length", "length of the stack"},
            {"volts", "V", "machine.nameplate.rated_volts", "rated voltage of the winding, line to line, rms"},
            {"hertz", "HZ", "machine.nameplate.frequency_hz", "frequency on the plate"},
            {"kw", "KW", "machine.nameplate.rated_power.kw", "rated power"},
            {"hp", "HP", "machine.nameplate.rated_power.hp", "the same in horsepower"},
            {"speed", "RPM", "machine.nameplate.speed_rpm", "rated speed"},
            {"poles", "N", "machine.nameplate.poles", "poles"},
            {"kind", "KIND", "machine.kind", "permanent-magnet, induction"},
            {"most", "N", "most", "at most this many, to 20 (5)"},
            NamesFlag()},
           Near,
           "What cannot burn counts: slots, core, plate. FILE is a record as for coilwright plan, or its machine "
           "alone. Each "
           "winding comes with what differs and with what it would become on this core at the same flux density in the "
           "gap: a "
           "start for your own count, not a record to wind by."},
          {"archive history", "all revisions of a winding or job: who, when, why", "NAME", PagingFlags(), History}};
}

}  // namespace coilwright::cli
