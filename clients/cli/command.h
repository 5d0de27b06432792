#pragma once

#include <functional>
#include <iosfwd>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "connection.h"
#include "flags.h"
#include "json.h"
#include "page.h"
#include "units.h"

namespace coilwright::cli {

// What a command works with while it runs.
struct Session {
  const Arguments& arguments;
  Connection& connection;
  std::istream& in;
  Units units;
  bool json;
  std::string out;      // printed when the command has succeeded
  std::ostream& live;   // for what is told while the command runs
  std::ostream& aside;  // standard error: how far it is, and what belongs to no answer
  int exit_status = 0;  // of success

  absl::Status Call(const google::protobuf::Message& request, google::protobuf::Message* answer) {
    return connection.Call(request, answer, FlagNamer(arguments));
  }
  absl::Status Write(google::protobuf::Message* request, google::protobuf::Message* answer) {
    return connection.Write(request, answer, FlagNamer(arguments));
  }
};

// A command, known by one word ("plan") or two ("wire show").
struct Command {
  const char* name;
  const char* summary;
  const char* usage;  // what stands after the name
  std::vector<Flag> flags;
  absl::Status (*run)(Session&);
  const char* more = "";  // paragraphs for its help page
};

std::vector<Command> PlanCommands();
std::vector<Command> CheckCommands();
std::vector<Command> AlterCommands();
std::vector<Command> LayoutCommands();
std::vector<Command> DrawCommands();
std::vector<Command> SheetCommands();
std::vector<Command> WireCommands();
std::vector<Command> LimitsCommands();
std::vector<Command> MegohmCommands();
std::vector<Command> JudgeCommands();
std::vector<Command> CoreCommands();
std::vector<Command> DriveCommands();
std::vector<Command> WatchCommands();
std::vector<Command> RulesCommands();
std::vector<Command> ArchiveCommands();
std::vector<Command> ArchiveFindCommands();
std::vector<Command> ArchiveMoveCommands();
std::vector<Command> JobCommands();
std::vector<Command> JobStepCommands();
std::vector<Command> TrendCommands();
std::vector<Command> CallCommands();

// All of them, the flags that every one of them has besides its own, and what exit statuses mean.
const std::vector<Command>& Commands();
const std::vector<Flag>& CommonFlags();
const std::vector<std::pair<std::string, std::string>>& ExitStatuses();

constexpr int kExitDone = 0;
constexpr int kExitWrongInput = 2;
constexpr int kExitNoAnswer = 3;
constexpr int kExitServer = 4;
constexpr int kExitDoubtful =
    5;  // answered, and nothing to go on by: a record found wrong, readings that could not be judged
constexpr int kExitChanged = 6;  // not written: somebody else has changed it meanwhile
int ExitStatus(const absl::Status& status);

// What a service in this process works with.
struct ServiceFiles {
  std::string settings;  // "" for none
  bool keeps_archive = false;
  std::string archive;            // where it keeps one: as --archive says, "" for the default file
  bool may_make_archive = false;  // where there is none yet
};
using SettledService = std::function<absl::StatusOr<std::shared_ptr<grpc::Channel>>(const ServiceFiles& files)>;

// Runs one command line, without the program's name, and returns the exit status.
int Run(const std::vector<std::string>& words, std::istream& in, std::ostream& out, std::ostream& err,
        const SettledService& own_service);

// A file, or standard input for "-". INVALID_ARGUMENT with one line where it cannot be read or is larger than 4 MiB.
absl::StatusOr<JsonSource> ReadJsonFile(const std::string& name, std::istream& in);

// INVALID_ARGUMENT unless the words given are at least `least` and at most `most`; `wanted` says what they are.
absl::Status ExpectWords(const Arguments& arguments, size_t least, size_t most, absl::string_view wanted);

}  // namespace coilwright::cli
