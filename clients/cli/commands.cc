// The table of all commands: help, manual pages and completions are made from it.

#include <string>
#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "coilwright/v1/rule_service.pb.h"
#include "command.h"
#include "encryption.h"

namespace coilwright::cli {
namespace {

constexpr char kVersion[] = COILWRIGHT_VERSION;

absl::Status Version(Session& session) {
  v1::ListRulesRequest request;
  request.set_page_size(1);
  v1::ListRulesResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? absl::StrCat("{\n \"version\": \"", kVersion, "\",\n \"data_revision\": \"",
                                            answer.data_revision(), "\"\n}\n")
                             : absl::StrCat("coilwright ", kVersion, ", data revision ", answer.data_revision(), "\n");
  return absl::OkStatus();
}

}  // namespace

const std::vector<Flag>& CommonFlags() {
  static const std::vector<Flag>* const flags = [] {
    auto* all = new std::vector<Flag>{
        {"units", "si|shop", "", "print in SI (default) or in inches, circular mils, pounds and degrees F"},
        {"width", "COLUMNS", "", "widest line printed, 60 to 200 (that of the terminal; 100 into a file or pipe)"},
        {"json", "", "", "print the answer as proto3 JSON"},
        {"server", "HOST:PORT", "", "ask this server; without it the service runs inside this program"}};
    for (const Flag& flag : EncryptionFlags()) all->push_back(flag);
    for (const Flag& flag : std::vector<Flag>{
             {"settings", "FILE", "", "the shop's own levels for the service inside this program"},
             {"archive", "FILE", "", "the archive of the service inside this program (default: that of the user)"},
             {"deadline", "SECONDS", "", "give up after this long (default 30)"},
             {"help", "", "", "print this"}}) {
      all->push_back(flag);
    }
    return all;
  }();
  return *flags;
}

const std::vector<Command>& Commands() {
  static const std::vector<Command>* const commands = [] {
    auto* all = new std::vector<Command>();
    for (auto part :
         {PlanCommands,    CheckCommands,  AlterCommands,       LayoutCommands,  DrawCommands,        SheetCommands,
          WireCommands,    LimitsCommands, MegohmCommands,      JudgeCommands,   CoreCommands,        DriveCommands,
          WatchCommands,   RulesCommands,  ArchiveFindCommands, ArchiveCommands, ArchiveMoveCommands, JobCommands,
          JobStepCommands, TrendCommands,  CallCommands}) {
      for (Command& command : part()) all->push_back(std::move(command));
    }
    all->push_back({"version", "version of this program and revision of its data", "", {}, Version});
    return all;
  }();
  return *commands;
}

const std::vector<std::pair<std::string, std::string>>& ExitStatuses() {
  static const auto* const statuses = new std::vector<std::pair<std::string, std::string>>{
      {"0", "answered"},
      {"2", "something given is wrong: a flag, a field, a file"},
      {"3", "no answer to give: not found, or the rule does not apply"},
      {"4", "the server could not be reached, refuses this caller, is too busy or failed, or the answer not written"},
      {"5", "answered or saved, and nothing to wind by: the record is found wrong, or the new winding says stop"},
      {"6", "not written: somebody else has changed it meanwhile; read it again"}};
  return *statuses;
}

}  // namespace coilwright::cli
