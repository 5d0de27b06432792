#include <sys/ioctl.h>
#include <unistd.h>

#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "archive_place.h"
#include "command.h"
#include "grpc/support/log.h"
#include "progress.h"
#include "settings_file.h"
#include "text.h"

int main(int argc, char** argv) {
  using coilwright::rpc::Server;
  // What gRPC logs is in the status of the call too, and told once.
  gpr_set_log_function([](gpr_log_func_args*) {});
  winsize terminal{};
  if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &terminal) == 0 && terminal.ws_col > 0) {
    coilwright::cli::SetPageWidth(terminal.ws_col);
  }
  winsize progress{};
  if (isatty(STDERR_FILENO) != 0 && ioctl(STDERR_FILENO, TIOCGWINSZ, &progress) == 0) {
    coilwright::cli::SetProgressColumns(progress.ws_col > 0 ? progress.ws_col : coilwright::cli::kPageWidth);
  }
  std::unique_ptr<Server> server;
  const auto own_service =
      [&server](const coilwright::cli::ServiceFiles& files) -> absl::StatusOr<std::shared_ptr<grpc::Channel>> {
    coilwright::rpc::ServerOptions options;
    options.listen = false;
    // One that was started before lets go of its file.
    server = nullptr;
    if (files.keeps_archive) {
      const absl::StatusOr<std::string> file =
          files.archive.empty() ? coilwright::DefaultArchiveFile() : absl::StatusOr<std::string>(files.archive);
      if (!file.ok()) return file.status();
      const bool there = *file == "none" || absl::StrContains(*file, "://") || coilwright::ArchiveFileIsThere(*file);
      if (!there && !files.may_make_archive) {
        return absl::NotFoundError(absl::StrCat(
            "there is no archive in ", *file,
            "; archive save, plan --save, check --save, job open, archive import and archive restore make one"));
      }
      auto archive = coilwright::OpenArchiveFile(*file);
      if (!archive.ok()) return archive.status();
      if (!there) std::cerr << "coilwright: new archive " << coilwright::cli::Printable(*file) << "\n";
      options.archive = *std::move(archive);
    }
    auto started = coilwright::StartWithSettings(std::move(options), files.settings);
    if (!started.ok()) return started.status();
    server = *std::move(started);
    return server->InProcessChannel();
  };
  return coilwright::cli::Run(std::vector<std::string>(argv + 1, argv + argc), std::cin, std::cout, std::cerr,
                              own_service);
}
