#pragma once

#include <functional>
#include <string>
#include <vector>

#include "plan/check_model.h"

namespace coilwright::plan {

// The slips that one record could carry, collected by subject.
class Slips {
 public:
  Slips(const Record& record, const Original& original, const Settings& settings)
      : record_(record), original_(original), settings_(settings) {}

  std::vector<Slip> All();

 private:
  // A slip by the name of its row; the caller fills its shift.
  Shift& Add(const std::string& name, std::string recorded, std::string reads, double share = 1);

  void Counts();
  bool Holds(int times) const;
  // Turns counted `n` times over.
  Shift& TurnsOver(int n, const char* slip, absl::string_view as_recorded, absl::string_view truly, double share);
  void WiresAsTurns(const std::function<std::string(double)>& turns);
  void Circuits();
  void WiresInHand();
  void Gauge();

  // The record with another pitch, pole number or layers, where it makes a winding.
  std::optional<PatternSummary> Variant(int pitch, int poles, std::optional<winding::Layers> layers = {});
  // Of the slip added last: its pattern has room for the recorded circuits.
  void MendsCircuits(const PatternSummary& pattern);
  void CoilSides();
  void Pattern();
  // Mean turn at another pitch over that as recorded, by the estimate.
  std::optional<double> TurnRatio(const PatternSummary& pattern);
  void PlateValues();
  void TwoVoltagePlate();
  void VoltageConstant();
  void WeakMagnets();
  void PlateTorque();
  void Readings();
  void OnTheScale();
  void Fahrenheit();

  const Record& record_;
  const Original& original_;
  const Settings& settings_;
  std::vector<Slip> slips_;
};

}  // namespace coilwright::plan
