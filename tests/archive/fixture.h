#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <functional>
#include <memory>
#include <ostream>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include "archive/archive.h"
#include "archive/stores.h"

namespace coilwright::archive {

inline void PrintTo(const StoreKind& kind, std::ostream* out) { *out << kind.name; }

inline NewEntry Winding(const std::string& id, const std::string& payload = "payload", int follows = 0) {
  NewEntry made;
  made.entry.kind = Kind::kWinding;
  made.entry.name = "windings/" + id;
  made.entry.payload = payload;
  made.follows = follows;
  return made;
}

inline NewEntry Job(const std::string& id, const std::string& winding = "") {
  NewEntry made;
  made.entry.kind = Kind::kJob;
  made.entry.name = "jobs/" + id;
  made.entry.payload = "job";
  made.needs = made.facts.parent = winding;
  return made;
}

inline NewEntry ReadingsOf(const std::string& job, const std::string& payload = "readings") {
  NewEntry made;
  made.entry.kind = Kind::kReadings;
  made.entry.name = job + "/readings/";
  made.entry.payload = payload;
  made.number = true;
  made.needs = made.facts.parent = job;
  return made;
}

inline NewEntry Requested(NewEntry made, const std::string& id, const std::string& digest = "digest") {
  made.entry.request_id = id;
  made.entry.request_digest = digest;
  return made;
}

inline std::vector<std::string> Names(const std::vector<Entry>& entries) {
  std::vector<std::string> names;
  for (const Entry& entry : entries) names.push_back(entry.name);
  return names;
}

inline void ExpectSame(const Entry& a, const Entry& b) {
  EXPECT_EQ(a.sequence, b.sequence);
  EXPECT_EQ(a.kind, b.kind);
  EXPECT_EQ(a.name, b.name);
  EXPECT_EQ(a.revision, b.revision);
  EXPECT_EQ(a.deleted, b.deleted);
  EXPECT_EQ(a.create_micros, b.create_micros);
  EXPECT_EQ(a.recorded_micros, b.recorded_micros);
  EXPECT_EQ(a.request_id, b.request_id);
  EXPECT_EQ(a.request_digest, b.request_digest);
  EXPECT_EQ(a.payload, b.payload);
}

// `count` threads run the body with their number, all at once.
inline void InThreads(int count, const std::function<void(int)>& body) {
  std::vector<std::thread> threads;
  threads.reserve(static_cast<size_t>(count));
  for (int i = 0; i < count; ++i) threads.emplace_back([&body, i] { body(i); });
  for (std::thread& thread : threads) thread.join();
}

// An empty archive in each kind of store.
class ArchiveTest : public ::testing::TestWithParam<StoreKind> {
 protected:
  void SetUp() override {
    store = GetParam().make();
    const absl::StatusOr<OpenDatabase> opened = store->Open();
    ASSERT_TRUE(opened.ok()) << opened.status();
    open_store = *opened;
    Reopen();
  }
  void TearDown() override {
    archive.reset();
    open_store = nullptr;
  }
  void Reopen(const ArchiveOptions& options = {}) { Reopen(open_store, options); }
  void Reopen(const OpenDatabase& open, const ArchiveOptions& options) {
    archive.reset();
    absl::StatusOr<std::unique_ptr<Archive>> opened = Archive::Open(open, options);
    ASSERT_TRUE(opened.ok()) << opened.status();
    archive = *std::move(opened);
  }
  // Must succeed.
  Entry Write(NewEntry made) {
    absl::StatusOr<Entry> entry = archive->Write(std::move(made));
    EXPECT_TRUE(entry.ok()) << entry.status();
    return entry.ok() ? *entry : Entry();
  }
  absl::StatusCode Refusal(NewEntry made) { return archive->Write(std::move(made)).status().code(); }
  std::vector<Entry> All() {
    absl::StatusOr<std::vector<Entry>> all = archive->Log(0, int64_t{1} << 60, int64_t{1} << 40);
    EXPECT_TRUE(all.ok()) << all.status();
    return all.ok() ? *all : std::vector<Entry>();
  }

  std::unique_ptr<TestStore> store;
  OpenDatabase open_store;
  std::unique_ptr<Archive> archive;
};

// In every *_test.cc with tests of this fixture, once for its class.
#define COILWRIGHT_IN_EVERY_STORE(fixture)                                 \
  INSTANTIATE_TEST_SUITE_P(Stores, fixture, ::testing::ValuesIn(Stores()), \
                           [](const auto& about) { return about.param.name; })

}  // namespace coilwright::archive
