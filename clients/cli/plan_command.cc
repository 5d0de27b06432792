#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "archive_save.h"
#include "check_print.h"
#include "coilwright/v1/rewind_plan_service.pb.h"
#include "command.h"
#include "plan_print.h"
#include "plan_request.h"
#include "templates.h"

namespace coilwright::cli {
namespace {

absl::Status Template(Session& session) {
  const auto& words = session.arguments.words();
  if (absl::Status one = ExpectWords(session.arguments, 0, 1, "pm, induction or shelf"); !one.ok()) return one;
  const std::string kind = words.empty() ? "pm" : words[0];
  if (kind == "pm")
    session.out = PermanentMagnetTemplate();
  else if (kind == "induction")
    session.out = InductionTemplate();
  else if (kind == "shelf")
    session.out = ShelfTemplate();
  else
    return absl::InvalidArgumentError(absl::StrCat("--template: got \"", kind, "\", accepted: pm, induction, shelf"));
  return absl::OkStatus();
}

absl::Status Plan(Session& session) {
  if (session.arguments.Has("template")) return Template(session);
  if (absl::Status words = ExpectWords(
          session.arguments, 1, 1,
          "a FILE with the record, or - for standard input; coilwright plan --template prints one to fill in");
      !words.ok()) {
    return words;
  }
  if (absl::Status flags = CheckSaveFlags(session.arguments); !flags.ok()) return flags;
  v1::PlanRewindRequest request;
  v1::PlanRewindResponse plan;
  FieldNamer name;
  if (absl::Status called = AskForPlan(session, {}, &request, &plan, &name); !called.ok()) return called;
  session.exit_status = ExitStatusOf(plan);
  session.out = session.json ? ToJson(plan) : PrintPlan(request, plan, session.units);
  return SaveBeside(session, request.record(), name);
}

}  // namespace

std::vector<Command> PlanCommands() {
  std::vector<Flag> flags = {
      {"template", "", "", "print a commented file to fill in: pm (default), induction, or shelf for --stock"},
      {"way", "N", "way", "this way to wind it in full and in the tests, instead of the first"},
      {"save", "", "", "keep the record in the archive too; needs --by"}};
  for (const auto& more : {ChangeFlags(), PlanFlags(), SaveFlags()})
    flags.insert(flags.end(), more.begin(), more.end());
  return {{"plan", "everything needed to rewind a recorded winding", "FILE | - | --template [pm|induction|shelf]",
           flags, Plan,
           "FILE is the record in proto3 JSON; lines and ends of lines after // are comments. A file with \"record\" "
           "at its top is a whole request "
           "(record, change, wires, tests, settings); flags come on top.\n\n"
           "Test levels can kill and can ruin a winding: local codes and a qualified person decide what is done."}};
}

}  // namespace coilwright::cli
