#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "absl/status/statusor.h"
#include "insulation/absorption_fit.h"
#include "insulation/current_watch.h"
#include "insulation/gross_watch.h"
#include "insulation/judgement.h"
#include "insulation/megohm.h"
#include "insulation/voltage_scatter.h"
#include "insulation/voltage_steps.h"
#include "standards/band.h"

// An insulation test while it runs: readings go in one by one, marks, ratios, fit and advice come out as they are due.
namespace coilwright::insulation {

// Seconds after full voltage at which readings are told. Full voltage is reached at the first reading within 2 % of a
// voltage that then stands for 30 s, and not below 90 % of the one set; a run whose first reading is at it has it from
// 0 s. A voltage still rising is thus no mark's, however slow the ramp, unless it rises by less than 2 % in 30 s and
// none is set.
inline constexpr std::array<double, 3> kMarks = {30, 60, 600};

enum class RunKind { kConstantVoltage, kStepVoltage };

struct RunCase {
  JudgementCase judgement;  // machine, insulation, air
  OtherPhases others = OtherPhases::kTogether;
  RunKind kind = RunKind::kConstantVoltage;
  std::optional<double> test_volts_dc;    // set at the instrument: said where the readings lie 10 % or more off; below
                                          // that no mark counts
  std::optional<double> winding_celsius;  // until a reading brings its own
  double uncertainty_ratio = 0;           // of a reading, expanded (k = 2), 0..0.5
  double charge_seconds = 5;              // left to the capacitive charge after full voltage, 1..60: no fit before
  std::optional<double> least_microamps;  // the instrument shows: a current below is one below these, and no more
};

// One reading. Current or megohms, or both where they agree within 5 %.
struct RunSample {
  double seconds = 0;               // since the first volt: above 0, at most 1e6, later than the reading before
  double volts_dc = 0;              // 0.001 to 50000
  std::optional<double> microamps;  // 1e-9 to 1e9; 0 where the run knows the instrument's least current
  std::optional<double> megohms;    // 0 (an earth fault) to 1e9
  bool over_range = false;          // "more than" these megohms or "less than" this current
  std::optional<double> winding_celsius;
};

// As given, else of volts and current; absent without either.
std::optional<double> MegohmsOf(const RunSample& sample);
// Whether two one-minute values may be of the same winding, read twice.
bool MayBeTheSame(double megohms, double other_megohms);

enum class Refusal { kNotAReading, kOutOfOrder, kRepeated, kContradictory };
struct Refused {
  Refusal refusal = Refusal::kNotAReading;
  std::string field;  // "seconds", "test_volts_dc", "current_microamps", "insulation_megohms", "winding_celsius"
  std::string given, accepted;
};

// 30 s, 60 s and 10 min after full voltage.
struct RunMark {
  double seconds = 0;
  double run_seconds = 0;             // the same moment since the first volt
  std::optional<double> megohms;      // as read; absent: `reason`
  std::optional<double> megohms_40c;  // whole winding at 40 C; absent without a temperature in the correction's range
  std::optional<double> winding_celsius;
  // The minimum of the run as it would be read then: at this temperature and with the other phases as they are. Absent
  // where the mark is not corrected.
  std::optional<double> minimum_megohms_as_read;
  bool at_least = false;      // from a reading over range
  bool interpolated = false;  // between the readings before and after, straight in the logarithms of time and megohms
  double volts_dc = 0;
  std::string reason;
};

enum class AdviceKind {
  kClimbing,         // current rises at constant voltage
  kJump,             // current stepped up and stayed
  kFlash,            // single readings far above those around them
  kVoltageFell,      // flashover, trip, or voltage taken off
  kEarthFault,       // megohms read 0
  kOutOfProportion,  // current over what the steps before foretell
  kVoltageNotConstant,
  kTestVoltage,  // not the one the rule asks for
  kTemperatureDrift,
  kNotCorrected,  // temperature missing or out of the correction's range
  kGap,
  kShortOfTime,  // ended before the marks
};
struct Advice {
  AdviceKind kind = AdviceKind::kGap;
  bool stop = false;   // take the voltage off now
  double seconds = 0;  // when it was seen
  std::string reason;
  absl::string_view rule;
};

// What one reading brought. Every kind of advice comes once in a run, a second time where it turns into a stop.
struct RunUpdate {
  std::optional<Refused> refused;
  std::vector<RunMark> marks;
  std::vector<Advice> advice;
  bool refitted = false;
};

struct TemperatureDrift {
  double kelvin_per_minute = 0, standard_error = 0;
  // Factor by which it alone would raise megohms from 1 min to 10 min: above 1 in a winding that cools.
  double false_index_ratio = 1;
};

struct IndexForecast {
  standards::Band megohms_600s;  // as read
  standards::Band index;         // over the megohms at 60 s
  double from_seconds = 0;       // readings to this time made it
};

// Where a run stands, or what it came to.
struct RunSummary {
  std::int64_t samples = 0, refused = 0, over_range = 0, flashes = 0;
  double last_seconds = 0, last_volts_dc = 0;
  // Since the first volt: 0 where the first reading was at it already; absent before, and in a step-voltage run.
  std::optional<double> full_voltage_seconds;
  std::optional<double> winding_celsius;
  std::optional<double> megohms, megohms_40c;  // latest, as read and of the whole winding
  bool at_least = false;
  std::vector<RunMark> marks;  // passed so far
  Ratio absorption_ratio, polarization_index;
  std::optional<double> index_at_40c;     // with each mark corrected by its own temperature
  std::optional<AbsorptionFit> fit;       // of readings before any stop advice
  std::optional<IndexForecast> forecast;  // until the 10 min mark is there; none once to stop
  std::optional<TemperatureDrift> drift;
  std::vector<VoltageStep> steps;
  std::vector<Advice> advice;
  bool stop = false;
  int gaps = 0;
  double longest_gap_seconds = 0, longest_gap_from_seconds = 0;
  // The one-minute value as judging readings does, of a constant-voltage run. Fail, whatever that value or without it,
  // for an earth fault, a flashover, reason to stop with megohms below the minimum, and megohms below it throughout; a
  // step-voltage run is judged only where one of these is so. Else not valid, with what is missing.
  std::optional<JudgedReading> judged;
  double discharge_seconds = 0;
  MegohmLimits limits;
  std::vector<std::string> notes;
  std::vector<absl::string_view> rules;
};

// One run. A value without clock or I/O: the same readings give the same results, in whatever portions they come.
// Memory is bounded whatever their number (25 kB measured after an hour of 2000 readings a second): readings are kept
// as means over bins of logarithmic time, 48 to the decade, and as running sums. Constant time per reading in the long
// run; the fit is made anew whenever the time has grown by a twentieth.
class InsulationRun {
 public:
  // INVALID_ARGUMENT with every wrong field: those of Limits, "test_volts_dc", "winding_temperature", "charge_seconds",
  // "instrument.uncertainty_ratio", "air_temperature", "relative_humidity_percent".
  static absl::StatusOr<InsulationRun> Start(const RunCase& run_case);

  // A reading that is refused changes nothing but their count; the run goes on. After stop advice readings still count,
  // for marks too, but neither fit nor watches take them.
  RunUpdate Add(const RunSample& sample);

  RunSummary Now() const;

  // The end, however it came: fit with everything, a mark missed by less than 2 % taken from the last reading, and what
  // is missing for the other marks. Calling Add afterwards is refused.
  RunSummary Finish();

 private:
  struct Taken {
    double seconds = 0, volts_dc = 0, microamps = 0;
    std::optional<double> celsius;
    bool over_range = false;
  };

  InsulationRun(const RunCase& run_case, MegohmLimits limits);
  std::optional<Refused> Check(const RunSample& sample, Taken* taken) const;
  void NoteGap(double seconds, RunUpdate& update);
  void TakeTemperature(double seconds, double celsius);
  bool EarthFault(const RunSample& sample, const Taken& taken, RunUpdate& update);
  // Whether the reading is one at the voltage of the run, or of its step, with the charge behind it.
  bool Steady(const Taken& taken, RunUpdate& update);
  // False where the voltage left the one the run stands at, for good or bad; begins anew where it still finds its
  // value.
  bool Stands(const Taken& taken, RunUpdate& update);
  // The same for volts that scatter from reading to reading: their median stands.
  bool StandsInScatter(const Taken& taken, RunUpdate& update);
  void BeginStand(const Taken& taken, double since);
  void RestartWatches();
  double Age(double seconds) const { return seconds - stand_seconds_; }
  bool AtFullVoltage() const;
  void NoteLevel(const Taken& taken);
  // Leaps of the latest readings over what a charging winding draws, too few yet to stop for.
  void WatchLeaps(const Taken& taken, bool charged, RunUpdate& update);
  void EndOnLeap(double seconds, absl::string_view how, RunUpdate& update);
  bool SteadyStep(const Taken& taken, RunUpdate& update);
  // The last step by the line through those before: after its minute, and at its end where it was shorter.
  void JudgeStep(double seconds, RunUpdate& update);
  void Watch(const Taken& taken, RunUpdate& update);
  bool VoltageOn(const Taken& taken) const;
  void WatchGross(const Taken& taken, RunUpdate& update);
  // Reason to stop that is a breakdown where it is gross enough, whatever megohms are left.
  void StopForGross(AdviceKind kind, double times, double seconds, std::string reason, absl::string_view rule,
                    RunUpdate& update);
  void Take(const Taken& taken, RunUpdate& update);
  void PassMarks(const Taken& taken, RunUpdate& update);
  void AddMark(RunMark mark, RunUpdate& update);
  void Refit(double seconds, RunUpdate& update);
  void Advise(AdviceKind kind, bool stop, double seconds, std::string reason, absl::string_view rule,
              RunUpdate& update);
  std::optional<double> Factor(std::optional<double> celsius) const;
  // What the warmth of the winding may multiply its current by since the first temperature, however steep its
  // insulation; and the same for what its thermometer does not show.
  double WarmthRatio() const;
  double UnseenWarmthRatio() const;
  std::optional<double> WholeWindingAt40C(double megohms, std::optional<double> celsius) const;
  std::optional<TemperatureDrift> Drift() const;
  void Ratios(RunSummary& summary) const;
  void Judge(RunSummary& summary) const;
  std::optional<std::string> Breakdown() const;  // what fails the run whatever was read at its marks
  std::optional<JudgedReading> JudgeReading(const Taken& taken, bool over_range) const;
  std::optional<JudgedReading> JudgeLowThroughout() const;

  RunCase case_;
  MegohmLimits limits_;
  std::int64_t samples_ = 0, refused_ = 0, over_range_ = 0, flashes_ = 0;
  bool finished_ = false, stop_ = false, voltage_kept_ = true;
  // The voltage stands at: its first reading, 0 until known; the mean over the time it has to settle; since when.
  double reference_volts_ = 0, stand_volts_ = 0, stand_samples_ = 0, stand_seconds_ = 0;
  std::optional<Taken> stood_;  // last reading at it
  // Of those with the charge behind them: the last, and the one of most megohms at 40 C; a lower bound has no end.
  std::optional<Taken> level_, best_;
  double best_megohms_40c_ = 0;
  double greatest_volts_ = 0;
  int near_zero_ = 0;          // readings in succession
  std::optional<Taken> last_;  // of any reading, held and unsteady ones too
  std::optional<Taken> steady_;
  std::optional<double> celsius_, smooth_celsius_;
  std::optional<double> smooth_factor_;  // to 40 C
  std::optional<double> first_celsius_;
  double greatest_celsius_step_ = 0;  // from one reading of the thermometer to the next
  bool whole_degrees_ = true;         // it shows no others
  std::vector<Taken> held_;           // by the jump watch, three at most
  size_t next_mark_ = 0;
  std::vector<RunMark> marks_;
  std::vector<BinnedCurrent> bins_;  // of the current per volt
  int last_bin_ = -1;
  double next_fit_seconds_ = 0;
  std::optional<AbsorptionFit> fit_;
  ClimbWatch climb_;
  JumpWatch jump_;
  GrossWatch gross_;
  VoltageScatter scatter_;
  bool in_scatter_ = false;
  double scatter_slack_ = 0;        // the widest seen
  bool unexplained_flash_ = false;  // by a voltage that was still rising
  std::optional<std::string> broke_down_;
  VoltageSteps steps_;
  int leaps_ = 0;                                 // readings in succession far over the step before
  int lesser_leaps_ = 0;                          // the same, over what stops once the charge is over
  std::optional<std::pair<double, Taken>> leap_;  // times over, where the latest reading is one
  std::vector<Advice> advice_;
  double usual_interval_ = 0;
  int gaps_ = 0;
  double longest_gap_ = 0, longest_gap_from_ = 0;
  // Sums over readings with a temperature of their own, time in minutes from the first.
  double temperatures_ = 0, first_minute_ = 0, sum_t_ = 0, sum_tt_ = 0, sum_c_ = 0, sum_tc_ = 0, sum_cc_ = 0;
};

}  // namespace coilwright::insulation
