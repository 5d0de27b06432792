#pragma once

#include <optional>
#include <string>
#include <vector>

#include "electric/machine_constants.h"
#include "plan/plan.h"
#include "rpc/reader.h"

namespace coilwright::rpc {

// Messages of the contract into the engine's structures. Every wrong or missing field goes to the reader's errors; the
// value returned is only to be used when there are none.

// A record that is still being taken down may lack its wires; `counted` false lets it.
plan::Record ReadRecord(const Reader& record, bool counted = true);
plan::Change ReadChange(const Reader& change);
// What a message leaves open is that of the shop, or of `defaults`.
plan::TestChoice ReadTestChoice(const Reader& choice);
plan::TestChoice ReadTestChoice(const Reader& choice, const plan::TestChoice& defaults);
testing::BenchMeans ReadBench(const Reader& bench);
testing::BenchMeans ReadBench(const Reader& bench, const testing::BenchMeans& defaults);
// What is missing in a record, said beside what is wrong; nothing where it has been said.
void AddMissing(const Reader& at_record, const plan::Record& record);
plan::Settings ReadSettings(const Reader& settings);
plan::Settings ReadSettings(const Reader& settings, const plan::Settings& defaults);

// A wire as a person gives it; `film` stands in where neither designation nor film says.
std::optional<wire::Wire> ReadWire(const Reader& reader, absl::string_view field);
std::vector<plan::RecordedStrand> ReadStrands(const Reader& reader, absl::string_view field);
plan::WireChoice ReadWireChoice(const Reader& choice);

// What testing needs of a machine beside its plate.
testing::FittedDevices ReadDevices(const Reader& fitted);
std::optional<plan::Construction> ReadConstruction(const Reader& machine);

// Star or delta; open is refused.
std::optional<electric::Connection> ReadConnection(const Reader& parent);

// K at k = 2, by how the temperature is known (number of a TemperatureEvidence).
double CelsiusUncertainty(int evidence);

// Groups coil by coil.
std::vector<plan::CoilGroup> ReadGroups(const Reader& parent, absl::string_view field);

// A voltage constant on any basis as line-to-line rms volts per 1000 rpm.
std::optional<double> ReadVoltageConstant(const Reader& parent, absl::string_view field);

std::optional<standards::ThermalClass> ReadThermalClass(const Reader& parent, absl::string_view field);

inline constexpr Range kCoreMm = {1, 5000, "mm"};
inline constexpr Range kRatedVolts = {1, 50000, "V"};
inline constexpr Range kRatedKw = {0.0001, 10000, "kW"};
inline constexpr Range kTorqueNm = {0.0001, 100000, "Nm"};
inline constexpr Range kSpeedRpm = {1, 100000, "rpm"};

// Counts and readings of an entry of the evidence that contradict the number they are for, or each other.
void RefuseRepeatsThatContradict(const Reader& entry, const google::protobuf::Message& record);

}  // namespace coilwright::rpc
