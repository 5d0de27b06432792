#include <pthread.h>

#include <csignal>
#include <fstream>
#include <iostream>
#include <set>
#include <utility>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "coilwright/v1/insulation_run_service.grpc.pb.h"
#include "command.h"
#include "request.h"
#include "rules_print.h"
#include "sample_lines.h"
#include "test_choice.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using RunAnswer = v1::RunInsulationTestResponse;
using Stream = grpc::ClientReaderWriter<v1::RunInsulationTestRequest, RunAnswer>;

constexpr int kMostLines = 20;  // in a message: what passes within it is told at its end
constexpr double kFirstForecastSeconds = 30;

volatile std::sig_atomic_t interrupted = 0;
pthread_t reading_thread;

// Ctrl-C ends the readings, a second one the program. The signal goes on to the thread that waits in a read.
extern "C" void Interrupted(int signal) {
  interrupted = 1;
  if (pthread_equal(pthread_self(), reading_thread) == 0) pthread_kill(reading_thread, signal);
}

void EndReadingsOnInterrupt() {
  interrupted = 0;
  reading_thread = pthread_self();
  struct sigaction action = {};
  action.sa_handler = Interrupted;
  action.sa_flags = static_cast<int>(SA_RESETHAND);
  sigaction(SIGINT, &action, nullptr);
}

std::string Megohms(const v1::InsulationMark& mark) {
  if (!mark.has_insulation_megohms()) return absl::StrCat("no reading: ", mark.reason());
  const std::string least = mark.at_least() ? "at least " : "";
  return absl::StrCat(least, Figures(mark.insulation_megohms()), " megohms",
                      mark.run_seconds() > mark.mark_seconds()
                          ? absl::StrCat(" (", Figures(mark.run_seconds()), " s from the first volt)")
                          : "",
                      mark.has_corrected_megohms_40c()
                          ? absl::StrCat(", ", least, Figures(mark.corrected_megohms_40c()), " at 40 C")
                          : "");
}

std::string BandText(const v1::Band& band) {
  return absl::StrCat(Figures(band.nominal(), 3), " (", Figures(band.low(), 3), " to ", Figures(band.high(), 3), ")");
}

std::string AdviceText(const v1::RunAdvice& advice) {
  return absl::StrCat(advice.stop() ? "STOP" : "note", " at ", Figures(advice.seen_at_seconds()),
                      " s: ", advice.reason());
}

// What happens, line by line, as it happens.
class Teller {
 public:
  explicit Teller(Session& session) : session_(session) {}

  void Tell(const RunAnswer& answer, const std::vector<int>& lines) {
    Gather(answer);
    if (session_.json) session_.live << ToJsonLine(answer) << "\n";
    for (const v1::RefusedSample& refused : answer.refused()) {
      const int line = lines[static_cast<size_t>(refused.index())];
      v1::FieldViolations violations;
      std::string reason = refused.status().message();
      if (!refused.status().details().empty() && violations.ParseFromString(refused.status().details(0).value()) &&
          !violations.field_violations().empty()) {
        const auto& violation = violations.field_violations(0);
        reason = absl::StrCat(violation.field().substr(violation.field().find('.') + 1), ": ", violation.description());
      }
      WrongLine(line, reason);
    }
    if (!lines.empty() && wrong_to_ < lines.back()) EndWrongLines();
    if (!session_.json) {
      for (const v1::InsulationMark& mark : answer.marks())
        Line(absl::StrCat(Figures(mark.mark_seconds()), " s: ", Megohms(mark)));
      for (const v1::RunAdvice& advice : answer.advice()) Line(AdviceText(advice));
      if (answer.has_forecast() && answer.forecast().from_readings_to_seconds() >= next_forecast_) {
        next_forecast_ = 2 * answer.forecast().from_readings_to_seconds();
        Line(absl::StrCat("after ", Figures(answer.forecast().from_readings_to_seconds(), 3),
                          " s: 10 min / 1 min will be ", BandText(answer.forecast().index()), " if it goes on so"));
      }
    }
    session_.live << std::flush;
  }

  // Of all answers: the last, with the marks and advice that came in those before.
  const RunAnswer& so_far() const { return so_far_; }

  void Gather(const RunAnswer& answer) {
    const RunAnswer before = std::exchange(so_far_, answer);
    if (answer.final()) return;
    *so_far_.mutable_marks() = before.marks();
    so_far_.mutable_marks()->MergeFrom(answer.marks());
    *so_far_.mutable_advice() = before.advice();
    so_far_.mutable_advice()->MergeFrom(answer.advice());
    if (answer.steps().empty()) *so_far_.mutable_steps() = before.steps();
    if (answer.cautions().empty()) *so_far_.mutable_cautions() = before.cautions();
    if (!answer.has_fit() && before.has_fit()) *so_far_.mutable_fit() = before.fit();
    if (!answer.has_drift() && before.has_drift()) *so_far_.mutable_drift() = before.drift();
  }

  // Beside --json on standard error, so that every line of standard output is an answer.
  void Remark(absl::string_view text) {
    (session_.json ? std::cerr : session_.live) << Printable(text) << "\n" << std::flush;
  }

  // Lines that follow each other with the same fault are told as one.
  void WrongLine(int line, absl::string_view reason) {
    if (wrong_from_ > 0 && (reason != wrong_reason_ || line != wrong_to_ + 1)) EndWrongLines();
    if (wrong_from_ == 0) {
      wrong_from_ = line;
      wrong_reason_ = std::string(reason);
    }
    wrong_to_ = line;
  }

  // Before what comes next, and before the input makes us wait: a fault that goes on is told at its first line and when
  // it ends.
  void EndWrongLines() {
    TellWrongLines();
    wrong_from_ = told_to_ = 0;
  }
  void TellFirstWrongLine() {
    if (wrong_from_ > 0 && told_to_ == 0) TellWrongLines();
  }

 private:
  void TellWrongLines() {
    const int from = told_to_ > 0 ? told_to_ + 1 : wrong_from_;
    if (wrong_from_ == 0 || from > wrong_to_) return;
    Remark(
        absl::StrCat(from == wrong_to_ ? absl::StrCat("line ", from) : absl::StrCat("lines ", from, " to ", wrong_to_),
                     " not taken: ", told_to_ > 0 ? "the same" : wrong_reason_));
    told_to_ = wrong_to_;
  }

  void Line(const std::string& text) {
    TellFirstWrongLine();
    session_.live << Printable(text) << "\n";
  }

  Session& session_;
  RunAnswer so_far_;
  double next_forecast_ = kFirstForecastSeconds;
  int wrong_from_ = 0, wrong_to_ = 0, told_to_ = 0;  // lines, 0 for none
  std::string wrong_reason_;
};

std::string RatioText(const v1::MegohmRatio& ratio) {
  if (!ratio.has_value()) return ratio.reason().empty() ? "" : absl::StrCat("none: ", ratio.reason());
  std::string text = Fixed(ratio.value(), 2);
  if (ratio.has_minimum()) absl::StrAppend(&text, " (least ", Figures(ratio.minimum()), ")");
  if (!ratio.reason().empty()) absl::StrAppend(&text, ", ", ratio.reason());
  return text;
}

std::string Fitted(const v1::FittedValue& value, absl::string_view unit) {
  return absl::StrCat(Figures(value.value()), " +- ", Figures(value.standard_error(), 2), unit);
}

std::string Print(const RunAnswer& answer, int wrong_lines) {
  Page page;
  page.Title(absl::StrCat("insulation run of ", Figures(answer.last_seconds()), " s",
                          answer.stop() ? ": there was reason to STOP" : ""));
  const v1::AbsorptionFit& fit = answer.fit();
  page.Facts(
      {{"samples",
        absl::StrCat(answer.samples_taken(), " taken, ", answer.samples_refused() + wrong_lines, " not taken")},
       {"verdict", answer.has_judged()
                       ? absl::StrCat(EnumText(answer.judged().verdict()), ": ", answer.judged().reason())
                   : !answer.final() ? "none: the service went away before the end of the run"
                                     : "none: a step-voltage run is judged by its steps"},
       {"full voltage", answer.full_voltage_at_seconds() > 0
                            ? absl::StrCat("from ", Figures(answer.full_voltage_at_seconds()), " s on")
                            : ""},
       {"least at 40 C", absl::StrCat(Figures(answer.minimum_megohms()), " megohms")},
       {"60 s / 30 s", RatioText(answer.absorption_ratio())},
       {"10 min / 1 min", RatioText(answer.polarization_index())},
       {"the same at 40 C", answer.has_index_at_40c() ? Fixed(answer.index_at_40c(), 2) : ""},
       {"forecast of it", answer.has_forecast() ? BandText(answer.forecast().index()) : ""},
       {"absorption", fit.has_exponent() ? absl::StrCat(Fitted(fit.absorption_microamps(), " uA"),
                                                        " x t^-n, n = ", Fitted(fit.exponent(), ""))
                      : answer.has_fit() ? "none beyond the scatter"
                                         : ""},
       {"conduction", answer.has_fit() ? Fitted(fit.conduction_microamps(), " uA") : ""},
       {"drift", answer.has_drift() ? absl::StrCat(Figures(answer.drift().kelvin_per_minute(), 2), " K a minute") : ""},
       {"earth it afterwards", absl::StrCat("at least ", Figures(answer.discharge_seconds()), " s")}});
  Table marks({{"after s", Table::Align::kRight}, {"reading", {}}});
  for (const v1::InsulationMark& mark : answer.marks()) marks.Add({Figures(mark.mark_seconds()), Megohms(mark)});
  if (!marks.empty()) {
    page.Heading("Readings");
    page.Add(marks);
  }
  Table steps({{"volts", Table::Align::kRight},
               {"uA", Table::Align::kPoint},
               {"after s", Table::Align::kRight},
               {"over proportion", Table::Align::kRight}});
  for (const v1::VoltageStepReading& step : answer.steps()) {
    steps.Add({Figures(step.step_volts_dc()), Figures(step.current_microamps()), Figures(step.read_after_seconds(), 3),
               step.has_departure_ratio() ? Percent(step.departure_ratio(), true) : ""});
  }
  if (!steps.empty()) {
    page.Heading("Steps");
    page.Add(steps);
  }
  if (!answer.advice().empty()) {
    page.Heading("Seen on the way");
    for (const v1::RunAdvice& advice : answer.advice()) page.Item(AdviceText(advice), advice.stop() ? "!" : "-");
  }
  if (!answer.notes().empty()) {
    page.Heading("Notes");
    page.List(answer.notes());
  }
  page.Heading("Cautions");
  page.List(answer.cautions(), "!");
  std::set<std::string> rules;
  CollectRules(answer.rule_uses(), &rules);
  PrintRules(rules, answer.data_revision(), &page);
  return page.text();
}

// Sends one message and tells its answer; false where the stream has ended.
bool Exchange(Stream& stream, const v1::RunInsulationTestRequest& request, const std::vector<int>& lines,
              Teller& teller) {
  RunAnswer answer;
  if (!stream.Write(request) || !stream.Read(&answer)) return false;
  if (answer.final()) {
    teller.Gather(answer);
    return false;
  }
  teller.Tell(answer, lines);
  return true;
}

// Lines to the end of the input, as many at once as lie ready.
absl::Status SendLines(std::istream& in, std::optional<double> test_volts_dc, Stream& stream, Teller& teller,
                       int* wrong_lines) {
  SampleLines columns(test_volts_dc);
  v1::RunInsulationTestRequest request;
  std::vector<int> lines;
  std::string line;
  for (int number = 1; interrupted == 0 && std::getline(in, line); ++number) {
    const absl::string_view text = absl::StripAsciiWhitespace(line);
    if (!text.empty() && text[0] != '#') {
      if (!columns.has_heading()) {
        if (absl::Status heading = columns.ReadHeading(text); !heading.ok()) {
          return absl::InvalidArgumentError(absl::StrCat("line ", number, ": ", heading.message()));
        }
        if (!columns.has_volts()) {
          teller.Remark(
              absl::StrCat("no column of volts: ", Figures(*test_volts_dc), " V from --test-volts throughout"));
        }
      } else if (absl::Status read = columns.Read(text, request.add_samples()); read.ok()) {
        lines.push_back(number);
      } else {
        request.mutable_samples()->RemoveLast();
        teller.WrongLine(number, read.message());
        ++*wrong_lines;
      }
    }
    const bool waits = in.rdbuf()->in_avail() <= 0;
    if (request.samples().empty() || (request.samples_size() < kMostLines && !waits)) {
      if (waits) teller.TellFirstWrongLine();
      continue;
    }
    if (!Exchange(stream, request, lines, teller)) return absl::OkStatus();
    request.Clear();
    lines.clear();
    if (waits) teller.TellFirstWrongLine();
  }
  if (!request.samples().empty()) Exchange(stream, request, lines, teller);
  teller.EndWrongLines();
  return columns.has_heading() ? absl::OkStatus()
                               : absl::InvalidArgumentError("no heading line, such as seconds,volts,megohms,celsius");
}

absl::Status Watch(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 1, 1, "a file of readings, - for standard input");
      !words.ok())
    return words;
  const std::string& name = session.arguments.words()[0];
  std::ifstream file;
  if (name != "-") file.open(name);
  if (name != "-" && !file) return absl::InvalidArgumentError(absl::StrCat(name, ": cannot be opened"));
  std::istream& in = name == "-" ? session.in : file;
  if (&in == &std::cin) EndReadingsOnInterrupt();

  v1::RunInsulationTestRequest first;
  if (absl::Status filled = FillRequest(session.arguments, first.mutable_setup()); !filled.ok()) return filled;
  const auto channel = session.connection.Channel();
  if (!channel.ok()) return channel.status();
  const auto stub = v1::InsulationRunService::NewStub(*channel);
  grpc::ClientContext context;
  const auto stream = stub->RunInsulationTest(&context);
  Teller teller(session);
  RunAnswer answer, last;
  int wrong_lines = 0;
  absl::Status read;
  if (stream->Write(first) && stream->Read(&answer)) {
    const v1::InsulationRunSetup& setup = first.setup();
    read = SendLines(in, setup.has_test_volts_dc() ? std::optional<double>(setup.test_volts_dc()) : std::nullopt,
                     *stream, teller, &wrong_lines);
  }
  stream->WritesDone();
  while (stream->Read(&answer)) last = answer;
  const grpc::Status ended = stream->Finish();
  if (!ended.ok()) {
    if (!session.json && teller.so_far().samples_taken() > 0) {
      session.live << "\n" << Print(teller.so_far(), wrong_lines) << std::flush;
    }
    return session.connection.Told(ended, [&](const std::string& field) {
      return FlagNamer(session.arguments)(field.substr(field.find("setup.") == 0 ? 6 : 0));
    });
  }
  if (!read.ok())
    return absl::Status(read.code(), absl::StrCat(name == "-" ? "standard input" : name, ": ", read.message()));
  if (last.samples_taken() == 0) return absl::InvalidArgumentError("no reading was taken");
  if (session.json) {
    teller.Tell(last, {});
  } else {
    session.out = absl::StrCat("\n", Print(last, wrong_lines));
  }
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> WatchCommands() {
  std::vector<Flag> flags = {
      {"volts", "V", "rated_volts", "rated voltage of the winding, line to line, rms"},
      {"kw", "KW", "rated_power.kw", "rated power"},
      {"hp", "HP", "rated_power.hp", "the same in horsepower"},
      {"kind", "KIND", "winding_kind", "random-wound (default), form-wound, field, dc-armature"},
      {"run", "KIND", "kind", "constant-voltage (default), step-voltage"},
      {"others", "STATE", "other_phases", "the other phases: together (default), earthed, guarded"},
      {"test-volts", "V", "test_volts_dc", "voltage set at the instrument; marks count from reaching it"},
      {"least-microamps", "UA", "least_current_microamps", "least current the meter shows: 0 counts as less than it"},
      {"winding", "TEMPERATURE", "winding_temperature", "of the winding, where the readings do not bring it: 22C, 72F"},
      {"charge", "SECONDS", "charge_seconds", "left to the charge before anything is fitted (5)"},
      {"year", "YEAR", "built_year", "year the machine was built"},
      {"class", "CLASS", "thermal_class", "thermal class, letter or number (F)"},
      {"uncertainty", "RATIO", "instrument.uncertainty_ratio", "of a reading, k = 2: 0.05"},
      {"air", "TEMPERATURE", "air_temperature", "air in the shop, for the dew point"},
      {"humidity", "PERCENT", "relative_humidity_percent", "relative humidity of that air"}};
  for (const Flag& flag : TestChoiceFlags()) flags.push_back(flag);
  return {
      {"watch", "an insulation test followed while it runs", "FILE|- --volts V", flags, Watch,
       "Readings come one to a line under a heading line that names columns with their units, by commas: seconds or "
       "minutes; volts or kilovolts; microamps, nanoamps or milliamps, or megohms or gigohms; celsius or fahrenheit. "
       "\">2000\" megohms are over range; lines that begin with # are left out. Without a column of volts --test-volts "
       "is that of every reading.\n\n"
       "A minute is that of the full voltage: after a ramp, marks count from where the voltage stands.\n\n"
       "Marks, advice and forecasts are printed as they come; the end of the input or Ctrl-C sums up. With --json "
       "every line is one answer of the service, and lines not taken are told on standard error. --deadline does not "
       "count: a run takes as long as it takes."}};
}

}  // namespace coilwright::cli
