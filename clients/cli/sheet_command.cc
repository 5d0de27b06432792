#include <fstream>
#include <optional>
#include <string>
#include <vector>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/strip.h"
#include "coilwright/v1/sheet_service.pb.h"
#include "command.h"
#include "document_file.h"
#include "judge_readings.h"
#include "plan_request.h"
#include "request.h"
#include "sample_lines.h"
#include "wire_choice.h"

namespace coilwright::cli {
namespace {

// The request holds what is asked for below `part`; errors name it by flag or by its place in the file.
FieldNamer Below(const std::string& part, FieldNamer inner) {
  return [part, inner = std::move(inner)](const std::string& field) {
    return absl::StartsWith(field, part) ? inner(std::string(absl::StripPrefix(field, part))) : field;
  };
}

// Flags of a document in a request that has others in a part of it.
std::vector<Flag> FlagsBeside() {
  std::vector<Flag> flags = DocumentFlags();
  for (Flag& flag : flags) flag.read_by_command = true;
  flags.push_back({"job", "NAME", "job", "of this job, as coilwright job find shows it", true});
  return flags;
}

// Those flags, and what --units says.
template <typename Request>
absl::Status FillBeside(const Session& session, Request* request) {
  for (const auto& [flag, value] : session.arguments.given()) {
    if (!absl::StartsWith(flag.field, "document.")) continue;
    if (absl::Status set = SetField(request, flag.field, value); !set.ok())
      return absl::InvalidArgumentError(absl::StrCat("--", flag.name, ": ", set.message()));
  }
  if (session.arguments.Has("job")) {
    const std::string job = session.arguments.Text("job");
    request->set_job(absl::StartsWith(job, "jobs/") ? job : absl::StrCat("jobs/", job));
  }
  if (session.units.shop()) request->mutable_document()->set_units(v1::PRINT_UNITS_SHOP);
  return ChooseFormat(session, request->mutable_document());
}

template <typename Request, typename Response>
absl::Status Deliver(Session& session, const Request& request, const FieldNamer& name, Response* made) {
  if (absl::Status called = session.connection.Call(request, made, name); !called.ok()) return called;
  if (session.json && !session.arguments.Has("out")) {
    session.out = ToJson(*made);
    return absl::OkStatus();
  }
  return WriteDocument(session, made->document(), {});
}

absl::Status ExpectFileOrJob(const Session& session, absl::string_view file) {
  const size_t files = session.arguments.Has("job") ? 0 : 1;
  return ExpectWords(session.arguments, files, files, absl::StrCat(file, ", or --job NAME instead"));
}

// Those of a plan that is made now.
std::vector<Flag> FlagsOfPlan() {
  std::vector<Flag> flags = {{"way", "N", "way", "this way of the plan, instead of the first"}};
  for (const auto& more : {ChangeFlags(), PlanFlags()}) flags.insert(flags.end(), more.begin(), more.end());
  return flags;
}

template <typename Request, typename Response>
absl::Status OfPlan(Session& session) {
  if (absl::Status words = ExpectFileOrJob(session, "a FILE with the record, - for standard input"); !words.ok())
    return words;
  Request request;
  FieldNamer name = FlagNamer(session.arguments);
  if (!session.arguments.Has("job")) {
    FieldNamer of_file;
    v1::PlanRewindRequest* plan = request.mutable_plan();
    if (absl::Status read = ReadRecordOrRequest(session, plan, &of_file); !read.ok()) return read;
    if (absl::Status shelf = FillWireChoice(session, plan->mutable_wires()); !shelf.ok()) return shelf;
    if (absl::Status filled = FillRequest(session.arguments, plan); !filled.ok()) return filled;
    name = Below("plan.", of_file);
  } else {
    for (const Flag& flag : FlagsOfPlan()) {
      if (session.arguments.Has(flag.name))
        return absl::InvalidArgumentError(absl::StrCat("--", flag.name,
                                                       ": given beside --job; accepted: with a FILE, "
                                                       "or none: the plan of the job was chosen"));
    }
  }
  if (absl::Status filled = FillBeside(session, &request); !filled.ok()) return filled;
  Response made;
  if (absl::Status done = Deliver(session, request, name, &made); !done.ok()) return done;
  if (!made.may_be_wound()) session.exit_status = kExitDoubtful;
  return absl::OkStatus();
}

// The samples of --run, each of them: a certificate leaves none out.
absl::Status ReadRun(const Session& session, v1::MakeTestCertificateRequest* request) {
  if (!session.arguments.Has("run")) {
    return session.arguments.Has("test-volts")
               ? absl::InvalidArgumentError("--test-volts: of a run; accepted: with --run CSV")
               : absl::OkStatus();
  }
  const std::string name = session.arguments.Text("run");
  std::ifstream file(name);
  if (!file) return absl::InvalidArgumentError(absl::StrCat("--run: ", name, ": cannot be opened"));
  std::optional<double> volts;
  if (session.arguments.Has("test-volts")) {
    if (absl::Status set = SetField(request, "run_setup.test_volts_dc", session.arguments.Text("test-volts"));
        !set.ok())
      return absl::InvalidArgumentError(absl::StrCat("--test-volts: ", set.message()));
    volts = request->run_setup().test_volts_dc();
  }
  SampleLines columns(volts);
  std::string line;
  for (int number = 1; std::getline(file, line); ++number) {
    const absl::string_view text = absl::StripAsciiWhitespace(line);
    if (text.empty() || text[0] == '#') continue;
    const absl::Status read =
        columns.has_heading() ? columns.Read(text, request->add_run_samples()) : columns.ReadHeading(text);
    if (!read.ok()) return absl::InvalidArgumentError(absl::StrCat(name, ": line ", number, ": ", read.message()));
  }
  return request->run_samples().empty() ? absl::InvalidArgumentError(absl::StrCat("--run: ", name, ": no readings"))
                                        : absl::OkStatus();
}

absl::Status Certificate(Session& session) {
  if (absl::Status words = ExpectFileOrJob(session, "a FILE with readings, - for standard input"); !words.ok())
    return words;
  v1::MakeTestCertificateRequest request;
  FieldNamer name = FlagNamer(session.arguments);
  if (!session.arguments.Has("job")) {
    if (absl::Status read = ReadReadings(session, session.arguments.words()[0], request.mutable_readings(), &name);
        !read.ok())
      return read;
    name = Below("readings.", name);
  }
  if (absl::Status run = ReadRun(session, &request); !run.ok()) return run;
  if (absl::Status filled = FillBeside(session, &request); !filled.ok()) return filled;
  v1::MakeTestCertificateResponse made;
  return Deliver(session, request, name, &made);
}

}  // namespace

std::vector<Command> SheetCommands() {
  std::vector<Flag> plan = FlagsOfPlan();
  for (const Flag& beside : FlagsBeside()) plan.push_back(beside);
  std::vector<Flag> certificate = FlagsBeside();
  certificate.insert(
      certificate.end(),
      {{"run", "CSV", "run_samples", "an insulation run of the same winding: readings as for coilwright watch", true},
       {"test-volts", "V", "run_setup.test_volts_dc", "voltage of that run, set at the instrument", true}});
  return {
      {"sheet rewind", "the sheet for the winder's bench: record against plan, with room to write",
       "FILE | - | --job NAME --out SHEET.pdf", plan, OfPlan<v1::MakeRewindSheetRequest, v1::MakeRewindSheetResponse>,
       "FILE is a record as for coilwright plan. With --job the plan that was chosen for it. The code in the corner "
       "is that of the record: coilwright archive find CODE finds it again.\n\n"
       "Test levels can kill and can ruin a winding: local codes and a qualified person decide what is done."},
      {"sheet label", "a label for the machine: connection, resistance, leads, code of its record",
       "FILE | - | --job NAME --out LABEL.pdf", plan,
       OfPlan<v1::MakeConnectionLabelRequest, v1::MakeConnectionLabelResponse>,
       "As coilwright sheet rewind. The page is A7, or 4 by 3 inches with --paper letter."},
      {"sheet certificate", "what was measured and what it means, to be signed",
       "FILE | - | --job NAME --out CERTIFICATE.pdf", certificate, Certificate,
       "FILE holds readings as for coilwright judge, which are judged now; with --job the last readings of every "
       "stage as they were judged then, the trend of the machine and its release. --run adds the curve of an "
       "insulation "
       "run, its marks and its verdict.\n\n"
       "It certifies nothing until a person has signed it."}};
}

}  // namespace coilwright::cli
