// coilwrightd: the service on a socket. Prints one line when it takes calls, stops cleanly on SIGTERM or SIGINT.

#include <pthread.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <utility>

#include "absl/flags/flag.h"
#include "absl/flags/parse.h"
#include "absl/flags/usage.h"
#include "absl/flags/usage_config.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "absl/time/clock.h"
#include "archive_place.h"
#include "coilwrightd_flags.h"
#include "grpc/support/log.h"
#include "metrics.h"
#include "notify.h"
#include "rpc/call_log.h"
#include "security.h"
#include "settings_file.h"

namespace {

struct Kept {
  std::shared_ptr<coilwright::archive::Archive> archive;  // null for none
  std::string says;                                       // where it is, and how much is in it
};

// A file that was lost, emptied or mistyped is seen by how little is in it.
absl::StatusOr<Kept> Told(std::shared_ptr<coilwright::archive::Archive> archive, const std::string& place) {
  Kept kept;
  if (archive == nullptr) return kept;
  const auto size = archive->Count();
  if (!size.ok()) return size.status();
  kept.archive = std::move(archive);
  kept.says =
      absl::StrCat("coilwrightd keeps its archive in ", place, ": ",
                   size->entries == 0 ? std::string("new, nothing in it yet")
                                      : absl::StrCat(size->entries, size->entries == 1 ? " entry, " : " entries, ",
                                                     size->windings, " windings and ", size->jobs, " jobs"));
  return kept;
}

// The archive that a flag names, or that of the user.
absl::StatusOr<Kept> OpenArchive(const std::string& flag) {
  if (absl::StartsWith(flag, "postgresql://")) {
    auto open = coilwright::archive::OpenPostgresql(flag);
    if (!open.ok()) return open.status();
    auto opened = coilwright::archive::Archive::Open(*std::move(open));
    if (!opened.ok()) return opened.status();
    // What stands before the "@" may hold a password.
    return Told(*std::move(opened),
                absl::StrCat("postgresql://", flag.substr(std::max(flag.rfind('@') + 1, sizeof "postgresql://" - 1))));
  }
  if (absl::StrContains(flag, "://")) {
    return absl::InvalidArgumentError(
        absl::StrCat("--archive: got \"", flag.substr(0, flag.find("://")),
                     "://...\", accepted: a file, postgresql://USER@HOST:PORT/DATABASE, or none"));
  }
  const absl::StatusOr<std::string> file =
      flag.empty() ? coilwright::DefaultArchiveFile() : absl::StatusOr<std::string>(flag);
  if (!file.ok()) return file.status();
  auto opened = coilwright::OpenArchiveFile(*file);
  if (!opened.ok()) return opened.status();
  return Told(*std::move(opened), *file);
}

int Refuse(const absl::Status& status) {
  for (const absl::string_view line : absl::StrSplit(status.message(), '\n'))
    std::fprintf(stderr, "coilwrightd: %s\n", std::string(line).c_str());
  return absl::IsInvalidArgument(status) ? 2 : 1;
}

std::optional<coilwright::rpc::CallLog::Calls> LoggedCalls(const std::string& flag) {
  using Calls = coilwright::rpc::CallLog::Calls;
  if (flag == "calls") return Calls::kAll;
  if (flag == "errors") return Calls::kErrors;
  if (flag == "none") return Calls::kNone;
  std::fprintf(stderr, "coilwrightd: --log: got \"%s\", accepted: calls, errors, none\n", flag.c_str());
  return std::nullopt;
}

bool InRange(const char* flag, int value, int low, int high) {
  if (value >= low && value <= high) return true;
  std::fprintf(stderr, "coilwrightd: --%s: accepted: %d to %d\n", flag, low, high);
  return false;
}

}  // namespace

// What gRPC says goes to the log, on one line each; while the server starts it is held back, since the reason of a
// failure is printed once, in words.
std::atomic<coilwright::rpc::CallLog*> grpc_log{nullptr};

void Log(gpr_log_func_args* entry) {
  if (auto* log = grpc_log.load()) log->AddText(absl::StrCat("coilwrightd: grpc: ", entry->message));
}

namespace {

// Abseil ends the program itself where a flag is none, always with 1, which stands for what may be there on another
// try.
int reading_flags_ends = 2;

void EndOfReadingFlags() {
  if (reading_flags_ends < 0) return;
  std::cout.flush();
  std::fflush(nullptr);
  _exit(reading_flags_ends);
}

}  // namespace

int main(int argc, char** argv) {
  absl::FlagsUsageConfig usage;
  usage.version_string = [] { return "coilwrightd " COILWRIGHT_VERSION "\n"; };
  usage.contains_help_flags = [](absl::string_view file) { return absl::StrContains(file, "coilwrightd"); };
  usage.normalize_filename = [](absl::string_view) { return "coilwrightd"; };
  absl::SetFlagsUsageConfig(usage);
  gpr_set_log_function(Log);
  const auto status_says = [](std::string* out, const std::pair<int, const char*>& status) {
    absl::StrAppend(out, status.first, " ", status.second);
  };
  absl::SetProgramUsageMessage(
      absl::StrCat(coilwright::kPurpose, "\nUsage: coilwrightd ", coilwright::kFlagForms,
                   "\nExit status: ", absl::StrJoin(coilwright::kExitStatuses, ", ", status_says), "."));
  if (const char* asked = argc > 1 ? argv[1] : "";
      absl::StrContains(asked, "help") || absl::EndsWith(asked, "-version"))
    reading_flags_ends = 0;
  std::atexit(EndOfReadingFlags);
  const std::vector<char*> rest = absl::ParseCommandLine(argc, argv);
  reading_flags_ends = -1;
  const int grace_seconds = absl::GetFlag(FLAGS_grace_seconds);
  const int streams = absl::GetFlag(FLAGS_streams);
  const int stream_idle_seconds = absl::GetFlag(FLAGS_stream_idle_seconds);
  if (rest.size() > 1) {
    std::fprintf(stderr, "coilwrightd: unexpected argument \"%s\"; all settings are flags\n", rest[1]);
    return 2;
  }
  if (!InRange("grace_seconds", grace_seconds, 0, 3600) || !InRange("streams", streams, 0, 100000) ||
      !InRange("stream_idle_seconds", stream_idle_seconds, 1, 1000000)) {
    return 2;
  }

  const int metrics_port = absl::GetFlag(FLAGS_metrics_port);
  if (!InRange("metrics_port", metrics_port, -1, 65535)) return 2;
  const std::optional<coilwright::rpc::CallLog::Calls> logged = LoggedCalls(absl::GetFlag(FLAGS_log));
  if (!logged) return 2;

  // Whoever read our standard error may have gone: writing to it then fails, and nothing else.
  std::signal(SIGPIPE, SIG_IGN);
  // Blocked before any thread exists, so that every thread inherits it and only the wait below receives them.
  sigset_t stop_signals;
  sigemptyset(&stop_signals);
  sigaddset(&stop_signals, SIGTERM);
  sigaddset(&stop_signals, SIGINT);
  pthread_sigmask(SIG_BLOCK, &stop_signals, nullptr);

  coilwright::rpc::ServerOptions options;
  options.host = absl::GetFlag(FLAGS_host);
  // "::1" is meant as "[::1]": a port follows.
  if (options.host.find(':') != std::string::npos && options.host[0] != '[') options.host = "[" + options.host + "]";
  options.port = absl::GetFlag(FLAGS_port);
  options.most_streams = streams;
  options.stream_idle = std::chrono::seconds(stream_idle_seconds);
  const std::string host = options.host;
  auto security = coilwright::ReadSecurity(
      {host, absl::GetFlag(FLAGS_tls_cert), absl::GetFlag(FLAGS_tls_key), absl::GetFlag(FLAGS_tls_client_ca),
       absl::GetFlag(FLAGS_roles), absl::GetFlag(FLAGS_plain_text_beyond_loopback)},
      absl::Now());
  if (!security.ok()) return Refuse(security.status());
  for (const std::string& warning : security->warnings)
    std::fprintf(stderr, "coilwrightd: warning: %s\n", warning.c_str());
  options.credentials = security->credentials;
  options.access = security->access;
  // Opened before anybody can ask for it.
  auto kept = OpenArchive(absl::GetFlag(FLAGS_archive));
  if (!kept.ok()) return Refuse(kept.status());
  options.archive = kept->archive;
  const auto log = std::make_shared<coilwright::rpc::CallLog>(*logged, STDERR_FILENO);
  options.log = log;
  auto server = coilwright::StartWithSettings(std::move(options), absl::GetFlag(FLAGS_settings));
  if (!server.ok()) return Refuse(server.status());
  std::unique_ptr<coilwright::Metrics> metrics;
  const std::string metrics_host = absl::GetFlag(FLAGS_metrics_host);
  if (metrics_port >= 0) {
    auto served = coilwright::Metrics::Serve(metrics_host, metrics_port,
                                             {server->get(), kept->archive, log, security->ends, COILWRIGHT_VERSION});
    if (!served.ok()) return Refuse(served.status());
    metrics = *std::move(served);
  }
  grpc_log = log.get();
  std::printf("coilwrightd listening on %s:%d\n", host.c_str(), (*server)->port());
  if (!kept->says.empty()) std::printf("%s\n", kept->says.c_str());
  for (const std::string& line : security->says) std::printf("coilwrightd %s\n", line.c_str());
  if (metrics != nullptr) {
    std::printf("coilwrightd serves metrics on http://%s:%d/metrics\n", metrics_host.c_str(), metrics->port());
    if (!coilwright::IsLoopback(metrics_host)) {
      std::fprintf(stderr, "coilwrightd: warning: metrics on %s are for all to read; they hold counts and no records\n",
                   metrics_host.c_str());
    }
  }
  std::fflush(stdout);
  coilwright::Notify("READY=1");

  int signal = 0;
  sigwait(&stop_signals, &signal);
  coilwright::Notify("STOPPING=1");
  std::fprintf(stderr, "coilwrightd: stopping, running calls have %d s\n", grace_seconds);
  // A second signal, or a stop that hangs, ends the process at once.
  std::thread([stop_signals, grace_seconds] {
    const timespec limit = {grace_seconds + 5, 0};
    // A wait that something else interrupts (a debugger, a checker at exit) is neither of the two.
    while (sigtimedwait(&stop_signals, nullptr, &limit) < 0 && errno == EINTR) {
    }
    std::fprintf(stderr, "coilwrightd: stopped without waiting\n");
    _exit(1);
  }).detach();
  (*server)->Shutdown(std::chrono::seconds(grace_seconds));
  grpc_log = nullptr;
  metrics.reset();
  server->reset();
  return 0;
}
