// What coils serve joined otherwise. Expected values: V2 = V1 (a1/a2) c2/c1 by hand, unless a published example is
// named.
#include "plan/reconnect.h"

#include <gmock/gmock.h>

#include <cmath>

#include "plan/machines.h"
#include "standards/errors.h"

namespace coilwright::plan {
namespace {

using electric::Connection;
using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::Not;

Record Induction(double volts, Connection connection, int circuits, double hertz = 60) {
  Record record = InductionMotor();
  record.plate.rated_volts = volts;
  record.plate.frequency_hz = hertz;
  record.plate.speed_rpm.reset();
  record.plate.rated_kw.reset();
  record.winding.connection = connection;
  record.winding.parallel_circuits = circuits;
  return record;
}

Reconnections Of(const Record& record, std::optional<double> wanted = {}, std::optional<double> hertz = {}) {
  absl::StatusOr<Reconnections> answer = ListReconnections(record, wanted, hertz, {});
  EXPECT_TRUE(answer.ok()) << answer.status();
  return answer.ok() ? *std::move(answer) : Reconnections{};
}

Reconnection Way(const Reconnections& answer, Connection connection, int circuits) {
  for (const Reconnection& way : answer.ways) {
    if (way.connection == connection && way.circuits == circuits) return way;
  }
  ADD_FAILURE() << "not among the ways: " << circuits;
  return {};
}

// 1 star 460 V, 2 star 230 V, 1 delta 265.6 V, 2 delta 132.8 V; four circuits half of two.
TEST(Reconnect, ByHand) {
  const Reconnections answer = Of(Induction(230, Connection::kStar, 2));
  ASSERT_EQ(answer.ways.size(), 6U);  // 1, 2 and 4 circuits in star and in delta
  EXPECT_NEAR(Way(answer, Connection::kStar, 1).rated_volts, 460, 1e-9);
  EXPECT_NEAR(Way(answer, Connection::kStar, 2).rated_volts, 230, 1e-9);
  EXPECT_NEAR(Way(answer, Connection::kStar, 4).rated_volts, 115, 1e-9);
  EXPECT_NEAR(Way(answer, Connection::kDelta, 1).rated_volts, 265.581, 5e-4);
  EXPECT_NEAR(Way(answer, Connection::kDelta, 2).rated_volts, 132.791, 5e-4);
  EXPECT_TRUE(Way(answer, Connection::kStar, 2).as_recorded);
  double before = 0;
  for (const Reconnection& way : answer.ways) {
    EXPECT_GT(way.rated_volts, before) << "by rising voltage";
    before = way.rated_volts;
    EXPECT_EQ(way.coil_ends, 6 * way.circuits);
    EXPECT_NEAR(way.rated_volts * *way.line_amps_rms, 230 * 6.4, 1e-6) << "the apparent power stays";
  }
  EXPECT_NEAR(Way(Of(Induction(115, Connection::kStar, 4)), Connection::kDelta, 2).rated_volts, 132.791, 5e-4);
}

// Bakshi, DC Machines and Synchronous Machines, Ex 4.18, p. 53: 600 kVA at 125 V in delta is 216.5 V and 1600 A in
// star.
TEST(Reconnect, DeltaToStarInPrint) {
  Record record = Induction(125, Connection::kDelta, 1, 50);
  record.plate.line_amps_rms = 600e3 / (std::sqrt(3.0) * 125);
  const Reconnection star = Way(Of(record), Connection::kStar, 1);
  EXPECT_NEAR(star.rated_volts, 216.5, 0.05);
  EXPECT_NEAR(*star.line_amps_rms, 1600, 0.5);
}

// The same coils: star has two phases in series between the leads, delta one beside two; a circuits divide by their
// square.
TEST(Reconnect, ResistanceBetweenTheLeads) {
  const Record record = InductionMotor();
  const Reconnections answer = Of(record);
  const double star = 2 * LineOhms(record, 20) / 2;
  for (const int a : {1, 2, 4}) {
    EXPECT_NEAR(Way(answer, Connection::kStar, a).line_to_line_ohms.nominal, star / a / a, 2e-3 * star);
    EXPECT_NEAR(Way(answer, Connection::kDelta, a).line_to_line_ohms.nominal, star / 3 / a / a, 2e-3 * star);
  }
}

// Hubert, Electric Machines, Ex 5.4 to 5.8: the flux follows volts over hertz. 10 % low voltage leaves 81 % of the
// torque; 151 A locked at 230 V 60 Hz are 173.3 A at 220 V 50 Hz; 230 V 58 Hz for 240 V 60 Hz leave 0.9828 of the
// torque.
TEST(Reconnect, FluxAtAnotherSupply) {
  const auto ratio = [](double rated, double wanted, double hertz) {
    return *Way(Of(Induction(rated, Connection::kStar, 1), wanted, hertz), Connection::kStar, 1).wanted_ratio;
  };
  EXPECT_NEAR(std::pow(ratio(460, 414, 60), 2), 0.81, 1e-9);
  EXPECT_NEAR(151 * ratio(230, 220, 50), 173.3, 0.05);
  EXPECT_NEAR(std::pow(ratio(240, 230, 58), 2), 0.9828, 5e-5);
  const Reconnection way = Way(Of(Induction(400, Connection::kStar, 1, 50), 480.0), Connection::kStar, 1);
  EXPECT_NEAR(*way.wanted_frequency_hz, 60, 1e-9) << "480 V 60 Hz are 400 V 50 Hz";
}

TEST(Reconnect, TheNearestToTheWantedVoltageComesFirst) {
  const Reconnections answer = Of(Induction(400, Connection::kStar, 1, 50), 230.0);
  EXPECT_EQ(answer.ways[0].connection, Connection::kDelta);
  EXPECT_EQ(answer.ways[0].circuits, 1);
  EXPECT_NEAR(*answer.ways[0].wanted_ratio, 230 * std::sqrt(3.0) / 400, 1e-12);
  EXPECT_TRUE(answer.ways[0].notes.empty());
  EXPECT_THAT(answer.ways[1].notes, Contains(HasSubstr("saturated")));
}

TEST(Reconnect, SaysWhatAWayBringsWithIt) {
  const Reconnections servo = Of(ServoMotor());
  for (const Reconnection& way : servo.ways) {
    EXPECT_EQ(::testing::Value(way.notes, Contains(HasSubstr("third-harmonic"))), way.connection == Connection::kDelta);
    EXPECT_EQ(way.notes.empty(), way.as_recorded);
    EXPECT_FALSE(way.wanted_frequency_hz.has_value());
  }
  const Reconnections induction = Of(Induction(230, Connection::kStar, 2));
  EXPECT_THAT(Way(induction, Connection::kStar, 1).notes, Contains(HasSubstr("higher voltage")));
  EXPECT_THAT(Way(induction, Connection::kDelta, 2).notes, Not(Contains(HasSubstr("third-harmonic"))));
  EXPECT_THAT(induction.cautions, Contains(HasSubstr("prove dead")));
  EXPECT_THAT(induction.rules, Contains("plan.reconnection"));
}

// The plan's own word for the same: exact turns stay where the voltage is that of a way in the list.
TEST(Reconnect, AgreesWithAPlanThatKeepsTheTurns) {
  const Record record = Induction(400, Connection::kStar, 2, 50);
  for (const Reconnection& way : Of(record).ways) {
    Change change;
    change.rated_volts = way.rated_volts;
    change.connection = way.connection;
    change.parallel_circuits = way.circuits;
    EXPECT_NEAR(TurnsOf(record, change).exact_turns_per_coil, 18, 1e-9);
  }
}

TEST(Reconnect, RefusesWhatCannotBe) {
  const auto field = [](const absl::Status& status) { return standards::FieldErrorsOf(status).at(0).field; };
  EXPECT_EQ(field(ListReconnections(ServoMotor(), {}, 60.0, {}).status()), "frequency_hz");
  EXPECT_EQ(field(ListReconnections(InductionMotor(), 0.5, {}, {}).status()), "wanted_volts");
  Record no_hertz = InductionMotor();
  no_hertz.plate.frequency_hz.reset();
  no_hertz.plate.speed_rpm.reset();
  EXPECT_EQ(field(ListReconnections(no_hertz, {}, 60.0, {}).status()), "frequency_hz");
  Record uneven = InductionMotor();
  uneven.core.slots = 32;
  uneven.core.shape.reset();
  uneven.core.tooth_width_mm.reset();
  EXPECT_EQ(ListReconnections(uneven, {}, {}, {}).status().code(), absl::StatusCode::kFailedPrecondition);
}

}  // namespace
}  // namespace coilwright::plan
