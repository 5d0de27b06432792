// The archive on PostgreSQL when the server, the network or another replica fails.

#include <signal.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <memory>
#include <mutex>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include "absl/status/status.h"
#include "absl/strings/str_cat.h"
#include "archive/archive.h"
#include "archive/database.h"
#include "archive/ledger.h"
#include "archive/server/cutting_proxy.h"
#include "archive/server/postgresql_server.h"
#include "gtest/gtest.h"

namespace coilwright::archive {
namespace {

using absl::StatusCode;
using std::chrono::milliseconds;

std::unique_ptr<Archive> Opened(const std::string& url, milliseconds patience = milliseconds(20000)) {
  ArchiveOptions options;
  options.patience = patience;
  auto archive = Archive::Open(OpenPostgresql(url).value(), options);
  EXPECT_TRUE(archive.ok()) << archive.status();
  return archive.ok() ? *std::move(archive) : nullptr;
}

// Writers that go on until they are stopped, each entry with a request id, and note what they were told.
class Load {
 public:
  Load(Archive& archive, int writers, const std::string& prefix) : archive_(archive) {
    for (int writer = 0; writer < writers; ++writer) {
      threads_.emplace_back([this, id = absl::StrCat(prefix, writer)] { Write(id); });
    }
  }
  ~Load() { Stop(); }

  void Stop() {
    stopping_ = true;
    for (std::thread& thread : threads_) thread.join();
    threads_.clear();
  }
  // Waits for so many more acknowledged writes.
  bool GoesOn(size_t more) {
    const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(60);
    const size_t enough = acknowledged().size() + more;
    while (acknowledged().size() < enough) {
      if (std::chrono::steady_clock::now() > give_up) return false;
      std::this_thread::sleep_for(milliseconds(5));
    }
    return true;
  }
  std::vector<Entry> acknowledged() const {
    const std::lock_guard<std::mutex> lock(mutex_);
    return acknowledged_;
  }
  // Ids of those nobody knows about.
  std::vector<std::string> unanswered() const { return unanswered_; }
  std::vector<absl::Status> wrong() const { return wrong_; }

 private:
  void Write(const std::string& writer) {
    for (int i = 0; !stopping_; ++i) {
      const std::string id = absl::StrCat(writer, "-", i);
      const auto kept = archive_.Write(NewWinding(id, absl::StrCat("request ", id)));
      const std::lock_guard<std::mutex> lock(mutex_);
      if (kept.ok()) {
        acknowledged_.push_back(*kept);
      } else if (kept.status().code() == StatusCode::kUnavailable) {
        unanswered_.push_back(id);
      } else {
        wrong_.push_back(kept.status());
      }
    }
  }

  Archive& archive_;
  std::vector<std::thread> threads_;
  std::atomic<bool> stopping_{false};
  mutable std::mutex mutex_;
  std::vector<Entry> acknowledged_;
  std::vector<std::string> unanswered_;
  std::vector<absl::Status> wrong_;
};

// `patience` of the archive: longer than the server is away, or shorter.
void RestartUnderLoad(milliseconds patience, milliseconds away) {
  PostgresqlServer server({/*durable=*/true, /*loopback=*/false});
  const auto archive = Opened(server.Url("postgres"), patience);
  ASSERT_NE(archive, nullptr);
  Load load(*archive, 32, "w");
  std::atomic<bool> stopping{false};
  std::vector<absl::Status> misread;
  std::thread reader([&] {
    while (!stopping) {
      const auto got = archive->Get("windings/w0-0");
      const StatusCode code = got.status().code();
      if (!got.ok() && code != StatusCode::kUnavailable && code != StatusCode::kNotFound)
        misread.push_back(got.status());
    }
  });
  for (int round = 0; round < 6; ++round) {
    EXPECT_TRUE(load.GoesOn(200)) << "round " << round;
    round % 2 == 0 ? server.Stop() : server.Kill();
    std::this_thread::sleep_for(away);
    server.Start();
  }
  EXPECT_TRUE(load.GoesOn(200));
  load.Stop();
  stopping = true;
  reader.join();
  EXPECT_TRUE(load.wrong().empty()) << load.wrong().size() << ", first " << load.wrong().front();
  EXPECT_TRUE(misread.empty()) << misread.front();

  std::vector<Entry> acknowledged = load.acknowledged();
  const std::vector<Entry> before = WholeLog(*archive);
  EXPECT_EQ(WrongIn(before), "");
  EXPECT_EQ(LostOf(acknowledged, before), "");
  // Whoever was told UNAVAILABLE asks again, and nothing is doubled.
  for (const std::string& id : load.unanswered()) {
    const auto kept = archive->Write(NewWinding(id, absl::StrCat("request ", id)));
    ASSERT_TRUE(kept.ok()) << kept.status();
    acknowledged.push_back(*kept);
  }
  const std::vector<Entry> log = WholeLog(*archive);
  EXPECT_EQ(WrongIn(log), "");
  EXPECT_EQ(LostOf(acknowledged, log), "");
  EXPECT_EQ(log.size(), acknowledged.size());
  std::cout << log.size() << " writes, " << load.unanswered().size() << " answered UNAVAILABLE, "
            << log.size() - before.size() << " of them not kept at first\n";
}

TEST(PostgresqlFaults, AServerThatRestartsUnderLoadIsWaitedFor) {
  RestartUnderLoad(/*patience=*/milliseconds(30000), /*away=*/milliseconds(100));
}

TEST(PostgresqlFaults, AServerThatStaysAwayIsToldOf) {
  RestartUnderLoad(/*patience=*/milliseconds(200), /*away=*/milliseconds(1000));
}

TEST(PostgresqlFaults, ACommitInDoubtIsAppliedOnce) {
  const std::string url = NewPostgresqlDatabase();
  const std::string server = FolderOf(url);
  CuttingProxy proxy(server);
  const auto archive = Opened(SocketUrl(proxy.folder(), DatabaseOf(url)));
  ASSERT_NE(archive, nullptr);
  int made = 0;
  for (const auto cut : {CuttingProxy::Cut::kBefore, CuttingProxy::Cut::kAfter, CuttingProxy::Cut::kLate}) {
    for (const bool with_request : {false, true}) {
      const std::string id = absl::StrCat("doubt-", ++made);
      proxy.CutNext(cut);
      const auto kept = archive->Write(NewWinding(id, with_request ? "request " + id : ""));
      ASSERT_TRUE(kept.ok()) << kept.status();
      EXPECT_EQ(kept->sequence, 2 * made - 1);
      // A correction has no name of its own that could be found taken.
      NewEntry correction = NewWinding(id, with_request ? "correction " + id : "");
      correction.follows = 1;
      proxy.CutNext(cut);
      const auto second = archive->Write(correction);
      ASSERT_TRUE(second.ok()) << second.status();
      EXPECT_EQ(second->revision, 2);
      EXPECT_EQ(proxy.cuts(), 2 * made);
    }
  }
  const std::vector<Entry> log = WholeLog(*archive);
  EXPECT_EQ(WrongIn(log), "");
  EXPECT_EQ(log.size(), static_cast<size_t>(2 * made));
}

TEST(PostgresqlFaults, AnImportInDoubtIsAppliedOnce) {
  const std::string url = NewPostgresqlDatabase();
  CuttingProxy proxy(FolderOf(url));
  const auto archive = Opened(SocketUrl(proxy.folder(), DatabaseOf(url)));
  ASSERT_NE(archive, nullptr);
  int64_t all = 0;
  for (const auto cut : {CuttingProxy::Cut::kBefore, CuttingProxy::Cut::kAfter, CuttingProxy::Cut::kLate}) {
    std::vector<NewEntry> entries;
    for (int i = 0; i < 20; ++i) {
      entries.push_back(NewWinding(absl::StrCat("import-", ++all)));
      entries.back().entry.create_micros = entries.back().entry.recorded_micros = 1'700'000'000'000'000 + all;
    }
    proxy.CutNext(cut);
    const auto imported = archive->Import(entries);
    ASSERT_TRUE(imported.ok()) << imported.status();
    EXPECT_EQ(imported->added, 20);
    EXPECT_EQ(imported->passed_over, 0);
  }
  EXPECT_EQ(proxy.cuts(), 3);
  const std::vector<Entry> log = WholeLog(*archive);
  EXPECT_EQ(WrongIn(log), "");
  EXPECT_EQ(log.size(), static_cast<size_t>(all));
}

// A replica: a process of its own that writes until it is killed, and notes each acknowledged write before the next.
class Replica {
 public:
  Replica(const std::string& url, const std::string& prefix, const std::string& notes) : notes_(notes) {
    process_ = fork();
    if (process_ == 0) {
      prctl(PR_SET_PDEATHSIG, SIGKILL);
      Write(url, prefix);
      _exit(1);
    }
  }
  ~Replica() { Kill(); }
  void Kill() {
    if (process_ <= 0) return;
    kill(process_, SIGKILL);
    waitpid(process_, nullptr, 0);
    process_ = 0;
  }
  size_t Noted() const { return Read(notes_).size(); }
  bool GoesOn(size_t more) const {
    const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(60);
    const size_t enough = Noted() + more;
    while (Noted() < enough) {
      siginfo_t ended{};
      if (waitid(P_PID, static_cast<id_t>(process_), &ended, WEXITED | WNOHANG | WNOWAIT) != 0 || ended.si_pid != 0 ||
          std::chrono::steady_clock::now() > give_up) {
        return false;
      }
      std::this_thread::sleep_for(milliseconds(5));
    }
    return true;
  }
  static std::vector<Entry> Read(const std::string& notes) {
    std::vector<Entry> entries;
    std::ifstream in(notes);
    Entry entry;
    while (in >> entry.sequence >> entry.revision >> entry.name && in.get() == '\n') entries.push_back(entry);
    return entries;
  }

 private:
  void Write(const std::string& url, const std::string& prefix) const {
    const auto archive = Opened(url);
    if (archive == nullptr) _exit(2);
    std::FILE* notes = std::fopen(notes_.c_str(), "a");
    if (notes == nullptr) _exit(3);
    std::vector<std::thread> threads;
    for (int thread = 0; thread < 8; ++thread) {
      threads.emplace_back([&, thread] {
        for (int i = 0;; ++i) {
          const auto kept = archive->Write(NewWinding(absl::StrCat(prefix, "-", thread, "-", i)));
          if (!kept.ok()) _exit(4);
          const std::string line = absl::StrCat(kept->sequence, " ", kept->revision, " ", kept->name, "\n");
          if (::write(fileno(notes), line.data(), line.size()) < 0) _exit(5);
        }
      });
    }
    for (std::thread& thread : threads) thread.join();
  }

  std::string notes_;
  pid_t process_ = 0;
};

TEST(PostgresqlFaults, OneOfTwoReplicasIsKilledAndTheOtherGoesOn) {
  const std::string url = NewPostgresqlDatabase();
  const std::string notes = testing::TempDir() + absl::StrCat("notes-", getpid(), "-");
  Replica survivor(url, "survivor", notes + "survivor");
  ASSERT_TRUE(survivor.GoesOn(10));
  std::vector<std::string> files = {notes + "survivor"};
  std::mt19937 random(20);
  constexpr int kReplicasKilled = 30;
  for (int kill = 0; kill < kReplicasKilled; ++kill) {
    files.push_back(absl::StrCat(notes, kill));
    Replica replica(url, absl::StrCat("killed", kill), files.back());
    // Some while they open the archive, most while they write.
    ASSERT_TRUE(kill % 5 == 0 || replica.GoesOn(1)) << kill;
    std::this_thread::sleep_for(std::chrono::microseconds(random() % 60'000));
    replica.Kill();
    ASSERT_TRUE(survivor.GoesOn(20)) << "after kill " << kill;
  }
  survivor.Kill();

  const auto archive = Opened(url);
  ASSERT_NE(archive, nullptr);
  const std::vector<Entry> log = WholeLog(*archive);
  EXPECT_EQ(WrongIn(log), "");
  size_t acknowledged = 0;
  for (const std::string& file : files) {
    const std::vector<Entry> noted = Replica::Read(file);
    acknowledged += noted.size();
    EXPECT_EQ(LostOf(noted, log), "") << file;
    unlink(file.c_str());
  }
  // Each of the 8 threads of a killed replica may have one write that is kept and not noted.
  EXPECT_LE(log.size(), acknowledged + 8 * (kReplicasKilled + 1));
  EXPECT_GT(acknowledged, 20u * kReplicasKilled);
  std::cout << log.size() << " writes kept, " << acknowledged << " acknowledged, " << kReplicasKilled << " kills\n";
}

TEST(PostgresqlFaults, OfReplicasThatCorrectOneWindingOneWins) {
  const std::string url = NewPostgresqlDatabase();
  const std::unique_ptr<Archive> replicas[2] = {Opened(url), Opened(url)};
  ASSERT_TRUE(replicas[0]->Write(NewWinding("contested")).ok());
  constexpr int kRounds = 40, kCallers = 8;
  for (int revision = 1; revision <= kRounds; ++revision) {
    std::atomic<int> won{0}, aborted{0}, ready{0};
    std::vector<std::thread> callers;
    for (int caller = 0; caller < kCallers; ++caller) {
      callers.emplace_back([&, caller] {
        NewEntry correction = NewWinding("contested");
        correction.follows = revision;
        for (++ready; ready < kCallers;) std::this_thread::yield();
        const auto kept = replicas[caller % 2]->Write(correction);
        if (kept.ok() && kept->revision == revision + 1) ++won;
        if (kept.status().code() == StatusCode::kAborted) ++aborted;
      });
    }
    for (std::thread& caller : callers) caller.join();
    ASSERT_EQ(won, 1) << revision;
    ASSERT_EQ(aborted, kCallers - 1) << revision;
  }
  EXPECT_EQ(WrongIn(WholeLog(*replicas[1])), "");
}

TEST(PostgresqlFaults, EightProcessesMakeOneSchema) {
  constexpr int kProcesses = 8;
  for (int round = 0; round < 5; ++round) {
    const std::string url = NewPostgresqlDatabase();
    int gate[2];
    ASSERT_EQ(pipe(gate), 0);
    std::vector<pid_t> processes;
    for (int process = 0; process < kProcesses; ++process) {
      const pid_t child = fork();
      if (child == 0) {
        close(gate[1]);
        char none = 0;
        while (read(gate[0], &none, 1) > 0) {  // until all are there
        }
        const auto archive = Opened(url);
        const bool kept = archive != nullptr && archive->Write(NewWinding(absl::StrCat("first-", process))).ok();
        _exit(kept ? 0 : 1);
      }
      processes.push_back(child);
    }
    close(gate[0]);
    close(gate[1]);
    for (const pid_t process : processes) {
      int status = 0;
      ASSERT_EQ(waitpid(process, &status, 0), process);
      EXPECT_EQ(status, 0);
    }
    const auto archive = Opened(url);
    ASSERT_NE(archive, nullptr);
    const std::vector<Entry> log = WholeLog(*archive);
    EXPECT_EQ(WrongIn(log), "");
    EXPECT_EQ(log.size(), static_cast<size_t>(kProcesses));
  }
}

}  // namespace
}  // namespace coilwright::archive
