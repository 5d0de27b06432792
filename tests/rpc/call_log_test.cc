// The log of calls: what a line holds, and that nobody waits for whoever reads it.
#include "rpc/call_log.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <chrono>
#include <string>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "absl/time/time.h"

namespace coilwright::rpc {
namespace {

using std::chrono::milliseconds;
using ::testing::HasSubstr;
using Clock = std::chrono::steady_clock;

LoggedCall Sample(grpc::StatusCode code = grpc::StatusCode::OK) {
  LoggedCall call;
  call.ended = absl::ToChronoTime(absl::FromUnixMicros(1700000000123456));
  call.method = "coilwright.v1.JobService/SignOffJob";
  call.peer = "ipv4:127.0.0.1:40112";
  call.code = code;
  call.took = std::chrono::microseconds(1234);
  call.in = 63;
  call.out = 741;
  return call;
}

// A pipe whose reading end the test holds.
class Pipe {
 public:
  Pipe() { EXPECT_EQ(pipe2(ends_, O_CLOEXEC), 0); }
  ~Pipe() {
    CloseReader();
    close(ends_[1]);
  }
  int writer() const { return ends_[1]; }
  void CloseReader() {
    if (ends_[0] >= 0) close(ends_[0]);
    ends_[0] = -1;
  }
  // What is in it now.
  std::string Read() const {
    std::string all;
    char part[65536];
    fcntl(ends_[0], F_SETFL, O_NONBLOCK);
    for (ssize_t size = 0; (size = read(ends_[0], part, sizeof part)) > 0;) all.append(part, static_cast<size_t>(size));
    return all;
  }

 private:
  int ends_[2] = {-1, -1};
};

TEST(LineOf, IsNamesAndValues) {
  LoggedCall call = Sample(grpc::StatusCode::PERMISSION_DENIED);
  EXPECT_EQ(LineOf(call),
            "time=2023-11-14T22:13:20.123456Z method=coilwright.v1.JobService/SignOffJob code=PERMISSION_DENIED "
            "seconds=0.001234 peer=ipv4:127.0.0.1:40112 request_bytes=63 answer_bytes=741");
  call.client = std::make_shared<Client>(Client{"bench 3", "", Role::kRead});
  call.stream = true;
  EXPECT_THAT(LineOf(call), HasSubstr(" client=\"bench 3\" messages_in=63 messages_out=741"));
}

TEST(CallLogTest, TakesTheCallsItIsToldTo) {
  const Pipe pipe;
  const CallLog none(CallLog::Calls::kNone, pipe.writer()), errors(CallLog::Calls::kErrors, pipe.writer()),
      all(CallLog::Calls::kAll, pipe.writer());
  EXPECT_FALSE(none.Takes(grpc::StatusCode::INTERNAL));
  EXPECT_FALSE(errors.Takes(grpc::StatusCode::OK));
  EXPECT_TRUE(errors.Takes(grpc::StatusCode::INVALID_ARGUMENT));
  EXPECT_TRUE(all.Takes(grpc::StatusCode::OK));
}

TEST(CallLogTest, WritesWhatWaitsInOrderBeforeItGoes) {
  const Pipe pipe;
  {
    CallLog log(CallLog::Calls::kAll, pipe.writer());
    for (int i = 0; i < 100; ++i) log.AddText(absl::StrCat("line ", i));
    log.Add(Sample());
  }
  const std::vector<std::string> lines = absl::StrSplit(pipe.Read(), '\n');
  ASSERT_EQ(lines.size(), 102u);
  for (size_t i = 0; i < 100; ++i) EXPECT_EQ(lines[i], absl::StrCat("line ", i));
  EXPECT_THAT(lines[100], HasSubstr("code=OK"));
}

// Standard error on a pipe that nobody reads: it is full after 64 KiB.
TEST(CallLogTest, NobodyWaitsForAReaderWhoDoesNotRead) {
  const Pipe pipe;
  Clock::time_point end;
  {
    CallLog log(CallLog::Calls::kAll, pipe.writer(), 500);
    const auto start = Clock::now();
    for (int i = 0; i < 5000; ++i) log.Add(Sample());
    EXPECT_LT(Clock::now() - start, std::chrono::seconds(2));
    std::this_thread::sleep_for(milliseconds(50));
    for (int i = 0; i < 5000; ++i) log.Add(Sample());
    EXPECT_GT(log.dropped(), 5000u) << "what did not fit is counted";
    end = Clock::now();
  }
  EXPECT_LT(Clock::now() - end, std::chrono::seconds(5)) << "the stop does not wait for the reader either";
  const std::string read = pipe.Read();
  EXPECT_GT(read.size(), 65536u - 8192u) << "what fitted is there";
  EXPECT_LE(read.size(), 65536u);
}

TEST(CallLogTest, SaysHowManyWereDroppedOnceItIsRead) {
  const Pipe pipe;
  std::string read;
  {
    CallLog log(CallLog::Calls::kAll, pipe.writer(), 100);
    for (int i = 0; i < 3000; ++i) log.Add(Sample());
    const auto give_up = Clock::now() + std::chrono::seconds(20);
    while (read.find("log_lines_dropped=") == std::string::npos && Clock::now() < give_up) {
      read += pipe.Read();
      std::this_thread::sleep_for(milliseconds(1));
    }
  }
  EXPECT_THAT(read, HasSubstr("\nlog_lines_dropped="));
}

TEST(CallLogTest, AReaderWhoHasGoneEndsNothing) {
  Pipe pipe;
  pipe.CloseReader();
  CallLog log(CallLog::Calls::kAll, pipe.writer());
  log.Add(Sample());
  const auto give_up = Clock::now() + std::chrono::seconds(20);
  while (log.dropped() == 0 && Clock::now() < give_up) std::this_thread::sleep_for(milliseconds(1));
  EXPECT_GE(log.dropped(), 1u);
}

}  // namespace
}  // namespace coilwright::rpc
