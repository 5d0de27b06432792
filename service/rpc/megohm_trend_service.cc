#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "insulation/trend.h"
#include "rpc/archive_calls.h"
#include "rpc/archive_methods.h"
#include "rpc/archive_pages.h"
#include "rpc/archive_times.h"
#include "rpc/jobs.h"
#include "rpc/methods.h"
#include "rpc/read_record.h"
#include "rpc/write.h"
#include "standards/tables.h"
#include "testing/programme.h"

namespace coilwright::rpc {
namespace {

using archive::Archive;
using archive::Kind;
using Errors = std::vector<standards::FieldError>;

constexpr size_t kMostPoints = 10000;  // an answer of two megabytes
constexpr double kMicrosPerYear = 365.2425 * 86400e6;

double YearsOf(int64_t micros) { return 1970 + static_cast<double>(micros) / kMicrosPerYear; }
int64_t MicrosOfYears(double years) { return std::llround((years - 1970) * kMicrosPerYear); }

// Jobs of one machine, newest first.
struct MachineJobs {
  std::vector<std::string> names;
  v1::Machine machine;  // of the job asked for, else of the newest
  std::set<std::string> makers;
  std::vector<std::string> unlike;         // of another machine with the same serial number
  std::vector<std::string> deleted;        // marked as deleted
  std::map<std::string, int64_t> rewound;  // when those that rewound it first had a winding in

  void Rewound(int64_t micros, const std::string& job) {
    const auto [at, first] = rewound.emplace(job, micros);
    if (!first) at->second = std::min(at->second, micros);
  }
};

std::string FoldedMaker(const v1::Job& job) { return absl::AsciiStrToLower(job.machine().nameplate().maker_text()); }

absl::StatusOr<MachineJobs> JobsOfMachine(Archive& archive, const v1::GetMegohmTrendRequest& request) {
  archive::Query query;
  query.kind = Kind::kJob;
  query.deleted_too = true;
  query.serial = FoldedSerial(request.serial_text());
  std::string maker;
  MachineJobs jobs;
  if (request.has_job()) {
    const auto entry = archive.Get(request.job());
    if (!entry.ok()) return entry.status();
    if (entry->deleted) return MarkedAsDeleted(request.job());
    v1::Job job;
    if (absl::Status filled = Fill(*entry, &job); !filled.ok()) return filled;
    jobs.machine = job.machine();
    query.serial = FoldedSerial(job.machine().nameplate().serial_text());
    maker = FoldedMaker(job);
    if (query.serial.empty()) {
      return absl::FailedPreconditionError(absl::StrCat(
          request.job(), " has no serial number, by which readings of one machine are told from those of others"));
    }
  }
  const absl::Status read = ForEach<v1::Job>(archive, query, [&](const v1::Job& job) {
    // Two makers may give the same number.
    const std::string its_maker = FoldedMaker(job);
    if (!maker.empty() && !its_maker.empty() && its_maker != maker) return true;
    if (job.revision().deleted()) {
      jobs.deleted.push_back(job.name());
      return true;
    }
    if (jobs.names.empty() && !request.has_job()) jobs.machine = job.machine();
    if (AreUnlike(jobs.machine, job.machine())) {
      jobs.unlike.push_back(job.name());
      return true;
    }
    if (!its_maker.empty()) jobs.makers.insert(its_maker);
    for (const v1::ReachedStage& reached : job.stages())
      if (IsWinding(reached.stage())) jobs.Rewound(MicrosOf(reached.time()), job.name());
    jobs.names.push_back(job.name());
    return true;
  });
  if (!read.ok()) return read;
  if (jobs.names.empty() && !jobs.deleted.empty()) return MarkedAsDeleted(jobs.deleted.front());
  if (jobs.names.empty())
    return absl::NotFoundError(absl::StrCat("there is no job with the serial number \"", request.serial_text(), "\""));
  return jobs;
}

struct Taken {
  v1::TrendPoint point;
  v1::MegohmReading reading;
  v1::InsulatedWindingKind winding_kind;
};

// Megohm readings of the jobs, oldest first, without those that later ones stand for.
absl::StatusOr<std::vector<Taken>> ReadingsOf(Archive& archive, const std::set<int>& stages, MachineJobs& jobs) {
  std::vector<Taken> taken;
  std::set<std::string> replaced;
  for (const std::string& job : jobs.names) {
    archive::Query query;
    query.kind = Kind::kReadings;
    query.parent = job;
    const absl::Status read = ForEach<v1::JobReadings>(archive, query, [&](const v1::JobReadings& set) {
      if (!set.replaces().empty()) replaced.insert(set.replaces());
      if (IsWinding(set.request().stage())) jobs.Rewound(MicrosOf(set.taken_time()), job);
      if (!stages.empty() && stages.count(set.request().stage()) == 0) return true;
      for (const v1::Reading& reading : set.request().readings()) {
        if (!reading.has_megohms() || taken.size() > kMostPoints) continue;
        Taken one{{}, reading.megohms(), set.request().winding_kind()};
        *one.point.mutable_taken_time() = set.taken_time();
        one.point.set_readings(set.name());
        one.point.set_label(reading.label().empty() ? reading.megohms().label() : reading.label());
        one.point.set_stage(set.request().stage());
        if (!one.reading.instrument().has_uncertainty_ratio() && reading.instrument().has_uncertainty_ratio())
          *one.reading.mutable_instrument() = reading.instrument();
        taken.push_back(std::move(one));
      }
      return true;
    });
    if (!read.ok()) return read;
  }
  if (taken.size() > kMostPoints) {
    return absl::FailedPreconditionError(
        absl::StrCat("more than ", kMostPoints, " readings; ask for those of fewer stages"));
  }
  const auto gone = [&](const Taken& one) { return replaced.count(one.point.readings()) > 0; };
  taken.erase(std::remove_if(taken.begin(), taken.end(), gone), taken.end());
  std::stable_sort(taken.begin(), taken.end(), [](const Taken& a, const Taken& b) {
    return MicrosOf(a.point.taken_time()) < MicrosOf(b.point.taken_time());
  });
  return taken;
}

// Why a reading does not belong to the finished winding that is in the machine now; empty where it does.
std::string OfAnotherWinding(const v1::TrendPoint& point, const MachineJobs& jobs) {
  if (point.stage() == v1::STAGE_WOUND_STAR_OPEN || point.stage() == v1::STAGE_WOUND_BEFORE_TREATMENT)
    return "before treatment: not the finished winding";
  for (const auto& [job, micros] : jobs.rewound) {
    if (MicrosOf(point.taken_time()) < micros) return absl::StrCat("of the winding that ", job, " replaced");
  }
  return "";
}

// Readings of one day at one stage are of one visit, whether they were written down together or not.
class Visits {
 public:
  int Of(const v1::TrendPoint& point) {
    const int64_t day = point.taken_time().seconds() / 86400;
    return visits_.emplace(std::make_pair(day, point.stage()), static_cast<int>(visits_.size())).first->second;
  }

 private:
  std::map<std::pair<int64_t, int>, int> visits_;
};

// Every reading by itself through the call that judges megohms, so that it is corrected and refused as there.
absl::Status Correct(const v1::GetMegohmTrendRequest& request, const MachineJobs& jobs, std::vector<Taken>* taken,
                     std::vector<std::pair<size_t, insulation::TrendReading>>* fit, std::set<std::string>* rules,
                     v1::JudgeMegohmsResponse* last) {
  const v1::Nameplate& plate = jobs.machine.nameplate();
  Visits visits;
  for (size_t i = 0; i < taken->size(); ++i) {
    Taken& one = (*taken)[i];
    v1::JudgeMegohmsRequest ask;
    *ask.mutable_choice() = request.choice();
    ask.set_rated_volts(plate.rated_volts());
    if (plate.has_rated_power()) *ask.mutable_rated_power() = plate.rated_power();
    if (plate.has_built_year()) ask.set_built_year(plate.built_year());
    ask.set_winding_kind(one.winding_kind);
    *ask.add_readings() = one.reading;
    v1::JudgeMegohmsResponse answer;
    if (absl::Status judged = JudgeMegohms(ask, &answer); !judged.ok()) return judged;
    const v1::JudgedMegohms& judged = answer.readings(0);
    std::vector<standards::FieldError> none;
    const Reader reader(one.reading, "", &none);
    one.point.set_as_read_megohms(one.reading.insulation_megohms());
    if (const auto celsius = reader.Celsius("winding_temperature")) one.point.set_winding_celsius(*celsius);
    one.point.set_at_least(judged.at_least());
    if (judged.has_corrected_megohms_40c()) one.point.set_corrected_megohms_40c(judged.corrected_megohms_40c());
    const double years = YearsOf(MicrosOf(one.point.taken_time()));
    if (!judged.has_corrected_megohms_40c() || judged.verdict() == v1::MEGOHM_VERDICT_NOT_VALID) {
      one.point.set_reason(judged.reason());
    } else if (const std::string other = OfAnotherWinding(one.point, jobs); !other.empty()) {
      one.point.set_reason(other);
    } else if (years < 1800 || years > 2300) {
      one.point.set_reason("taken outside the years 1800 to 2300");
    } else {
      std::optional<double> uncertainty;
      if (one.reading.instrument().has_uncertainty_ratio()) uncertainty = one.reading.instrument().uncertainty_ratio();
      fit->push_back(
          {i, {years, judged.corrected_megohms_40c(), judged.at_least(), uncertainty, visits.Of(one.point)}});
    }
    for (const v1::RuleUse& use : judged.rule_uses()) rules->insert(use.rule());
    *last = std::move(answer);
  }
  return absl::OkStatus();
}

void WriteTrend(const insulation::Trend& trend, v1::GetMegohmTrendResponse* out) {
  if (trend.fit) {
    v1::TrendFit* fit = out->mutable_fit();
    WriteBand(trend.fit->ratio_per_year, fit->mutable_ratio_per_year());
    fit->set_scatter_ratio(trend.fit->scatter_ratio);
    fit->set_points(trend.fit->points);
    fit->set_years(trend.fit->to_years - trend.fit->from_years);
    fit->set_megohms_at_last(trend.fit->megohms_at_last);
  }
  if (trend.crossing) {
    v1::TrendCrossing* crossing = out->mutable_crossing();
    WriteTime(MicrosOfYears(trend.crossing->earliest_years), crossing->mutable_earliest());
    WriteTime(MicrosOfYears(trend.crossing->likeliest_years), crossing->mutable_likeliest());
    if (trend.crossing->latest_years)
      WriteTime(MicrosOfYears(*trend.crossing->latest_years), crossing->mutable_latest());
  }
  out->set_no_forecast(trend.no_forecast);
  for (const std::string& note : trend.notes) out->add_notes(note);
}

}  // namespace

absl::Status GetMegohmTrend(Archive& archive, const v1::GetMegohmTrendRequest& request,
                            v1::GetMegohmTrendResponse* response) {
  Errors errors;
  const Reader reader(request, "", &errors);
  if (request.has_job()) {
    ReadName(reader, "job", Kind::kJob);
  } else if (FoldedSerial(reader.Text("serial_text")).empty() && errors.empty()) {
    reader.Missing(request.has_serial_text() ? "serial_text" : "job", "a job, or the serial number of its machine");
  }
  ReadTestChoice(reader.At("choice"));
  const double confidence = reader.Number("confidence", {0.5, 0.999, ""}).value_or(0.95);
  std::set<int> stages;
  for (int i = 0; i < request.stages_size() && i < 100; ++i) {
    if (request.stages(i) == v1::STAGE_UNSPECIFIED)
      reader.Wrong(absl::StrCat("stages[", i, "]"), "unspecified", reader.EnumChoices("stages"));
    stages.insert(request.stages(i));
  }
  if (!errors.empty()) return standards::InvalidFields(errors);
  auto jobs = JobsOfMachine(archive, request);
  if (!jobs.ok()) return jobs.status();
  if (!jobs->machine.nameplate().has_rated_volts()) {
    return absl::FailedPreconditionError(
        absl::StrCat(jobs->names.front(),
                     " has no rated volts, by which the least insulation resistance goes; UpdateJob adds them"));
  }
  auto taken = ReadingsOf(archive, stages, *jobs);
  if (!taken.ok()) return taken.status();
  if (taken->empty())
    return absl::FailedPreconditionError("there are no megohm readings of this machine at the stages asked for");
  std::vector<std::pair<size_t, insulation::TrendReading>> fit;
  v1::JudgeMegohmsResponse judged;  // the last, for what is the same in all
  std::set<std::string> rules;
  if (absl::Status corrected = Correct(request, *jobs, &*taken, &fit, &rules, &judged); !corrected.ok())
    return corrected;

  insulation::TrendCase trend_case;
  for (const auto& [index, reading] : fit) trend_case.readings.push_back(reading);
  trend_case.minimum_megohms = judged.minimum_megohms();
  trend_case.confidence = confidence;
  const auto trend = insulation::FollowTrend(trend_case);
  if (!trend.ok()) return trend.status();
  for (size_t i = 0; i < fit.size(); ++i) {
    v1::TrendPoint& point = (*taken)[fit[i].first].point;
    point.set_fitted(trend->points[i].fitted);
    point.set_reason(trend->points[i].reason);
  }
  for (Taken& one : *taken) *response->add_points() = std::move(one.point);
  WriteTrend(*trend, response);
  response->set_minimum_megohms(judged.minimum_megohms());
  response->set_minimum_megohms_rule(judged.minimum_megohms_rule());
  for (const std::string& note : judged.notes()) response->add_notes(note);
  if (jobs->makers.size() > 1) {
    response->add_notes(absl::StrCat("The jobs with this serial number are of ", jobs->makers.size(),
                                     " makers: they may be different machines. Ask by a job to follow one of them."));
  }
  for (const std::string& job : jobs->unlike) {
    response->add_notes(absl::StrCat("Left out: ", job,
                                     " has this serial number and a plate of another kind or number of poles. Ask by "
                                     "that job to follow its machine."));
  }
  for (const std::string& job : jobs->deleted)
    response->add_notes(absl::StrCat("Left out: ", job, " is marked as deleted."));
  response->add_cautions(Str(testing::QualifiedPersonCaution()));
  for (const v1::RuleUse& use : judged.rule_uses()) rules.insert(use.rule());
  for (const absl::string_view rule : trend->rules) rules.insert(Str(rule));
  for (const std::string& id : rules) {
    response->add_rule_uses()->set_rule(id);
    if (const standards::Rule* rule = standards::FindRule(id)) Write(*rule, response->add_rules());
  }
  response->set_data_revision(Str(standards::DataRevision()));
  return absl::OkStatus();
}

}  // namespace coilwright::rpc
