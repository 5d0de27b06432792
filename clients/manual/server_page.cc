#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "coilwrightd_flags.h"
#include "pages.h"
#include "roff.h"
#include "server_flags.h"

namespace coilwright::manual {
namespace {

constexpr char kArchive[] = "/var/lib/coilwright/archive.db";

// As comments of a file, no line wider than a terminal.
std::string Commented(const std::string& text) {
  constexpr size_t kColumns = 98;
  std::string out;
  std::string line = "#";
  for (absl::string_view word : absl::StrSplit(text, ' ')) {
    if (line.size() + 1 + word.size() > kColumns) {
      absl::StrAppend(&out, line, "\n");
      line = "#";
    }
    absl::StrAppend(&line, " ", word);
  }
  return absl::StrCat(out, line, "\n");
}

}  // namespace

std::string ServerPage(const Sources& sources) {
  Roff page("coilwrightd", 8, "winding data for motor repair over gRPC", sources.version);
  page.Section("Synopsis");
  page.Usage("coilwrightd", kFlagForms);
  page.Section("Description");
  page.Paragraph(
      "Serves rewind plans, checks of records, test limits and judgements, documents, and an archive of windings, jobs "
      "and readings. It prints where it listens when it takes calls, then what it keeps, speaks and asks for, and "
      "stays in the foreground. The calls are described by the .proto files in /usr/share/coilwright/proto; "
      "coilwright(1) makes them from a terminal.");
  page.Paragraph(
      "The package coilwright-server runs it as the user coilwright through coilwrightd.service, on 127.0.0.1 in plain "
      "text until /etc/coilwright/coilwrightd.flags says otherwise. systemctl restart coilwrightd takes a change up.");
  page.Section("Options");
  for (const ServerFlag& flag : ServerFlags()) {
    const bool tell = !flag.value.empty() && !flag.fallback.empty() && flag.fallback != "-1";
    page.Term(absl::StrCat("--", flag.name), flag.value.empty() ? "" : absl::StrCat("=", flag.value),
              absl::StrCat(flag.help, tell ? absl::StrCat(" Default: ", flag.fallback, ".") : ""));
  }
  page.Term("--flagfile", "=FILE", "Takes flags from a file, one a line; # begins a comment. The last of two wins.");
  page.Term("--help", "", "Prints these flags.");
  page.Term("--version", "", "Prints the version.");
  page.Section("Signals");
  page.Paragraph(
      "SIGTERM and SIGINT stop it: health turns to NOT_SERVING, no new call is taken, running ones get "
      "--grace_seconds, "
      "streams are summed up. A second one ends it at once.");
  page.Section("Exit status");
  for (const auto& [status, meaning] : kExitStatuses) page.Term(absl::StrCat(status), "", meaning);
  page.Section("Files");
  page.Term("/etc/coilwright/coilwrightd.flags", "", "flags of the installed service");
  page.Term("/etc/coilwright/tls", "", "a folder for certificates and keys, read by root and the group coilwright");
  page.Term(kArchive, "",
            "the archive of the installed service. It is the only thing that cannot be made again: coilwright archive "
            "backup makes a copy while it runs. Removing the package leaves it, purging does not.");
  page.Term("/usr/share/doc/coilwright/docs", "",
            "operations.md, settings.md and the other pages of the documentation");
  page.Section("Environment");
  page.Term("XDG_DATA_HOME, HOME", "", "say where the archive is where --archive does not.");
  page.Section("Examples");
  page.Paragraph("For this machine alone:");
  page.Example({"coilwrightd --archive=archive.db"});
  page.Paragraph("For the shop, each client with a certificate:");
  page.Example({"coilwrightd --host=0.0.0.0 --tls_cert=server.pem --tls_key=server.key \\",
                "  --tls_client_ca=authority.pem --roles=roles.json --archive=archive.db"});
  page.Section("Cautions");
  page.Paragraph(
      "In plain text, or without --tls_client_ca, whoever reaches the address may read and write everything. A role "
      "says what a certificate may do, not who is qualified. Test levels can kill and can ruin a winding: local codes "
      "and a qualified person decide what is done.");
  page.SeeAlso({{"coilwright", 1}, {"systemctl", 1}});
  return page.text();
}

std::string ServerFlagFile() {
  std::string file = absl::StrCat(
      "# Flags of the installed coilwrightd, one a line; coilwrightd(8) describes them. A line without the # in front\n"
      "# of it counts; systemctl restart coilwrightd takes a change up.\n");
  for (const ServerFlag& flag : ServerFlags()) {
    absl::StrAppend(&file, "\n", Commented(flag.help));
    if (flag.name == "archive") {
      absl::StrAppend(&file, "--archive=", kArchive, "\n");
    } else if (flag.value.empty()) {
      absl::StrAppend(&file, "#--", flag.name, "\n");
    } else {
      absl::StrAppend(&file, "#--", flag.name, "=",
                      flag.fallback.empty() || flag.fallback == "-1" ? flag.value : flag.fallback, "\n");
    }
  }
  return file;
}

}  // namespace coilwright::manual
