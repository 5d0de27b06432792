#include "metrics.h"

#include <exception>
#include <limits>
#include <mutex>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "archive_sizes.h"
#include "process_figures.h"
#include "prometheus/collectable.h"
#include "prometheus/exposer.h"
#include "prometheus/metric_family.h"
#include "rpc/figures.h"
#include "rpc/status.h"
#include "standards/tables.h"

namespace coilwright {
namespace {

using prometheus::ClientMetric;
using prometheus::MetricFamily;
using prometheus::MetricType;
using Labels = std::vector<ClientMetric::Label>;

class Page {
 public:
  void Family(const char* name, const char* help, MetricType type) {
    families_.push_back({absl::StrCat("coilwright_", name), help, type, {}});
  }
  void Counter(const char* name, const char* help, double value) {
    Family(name, help, MetricType::Counter);
    Add({}, value);
  }
  void Gauge(const char* name, const char* help, double value) {
    Family(name, help, MetricType::Gauge);
    Add({}, value);
  }
  // To the family begun last.
  void Add(Labels labels, double value) {
    ClientMetric metric;
    metric.label = std::move(labels);
    (families_.back().type == MetricType::Counter ? metric.counter.value : metric.gauge.value) = value;
    families_.back().metric.push_back(std::move(metric));
  }
  void Add(Labels labels, const archive::Timings::Counted& times) {
    ClientMetric metric;
    metric.label = std::move(labels);
    uint64_t count = 0;
    for (size_t i = 0; i < times.steps.size(); ++i) {
      count += times.steps[i];
      const bool last = i == archive::Timings::kSeconds.size();
      metric.histogram.bucket.push_back(
          {count, last ? std::numeric_limits<double>::infinity() : archive::Timings::kSeconds[i]});
    }
    metric.histogram.sample_count = count;
    metric.histogram.sample_sum = times.seconds;
    families_.back().metric.push_back(std::move(metric));
  }
  // The names that every process has, not only ours.
  void Process(const ProcessFigures& figures) {
    const auto add = [this](const char* name, const char* help, MetricType type, double value) {
      families_.push_back({name, help, type, {}});
      Add({}, value);
    };
    add("process_start_time_seconds", "Start of the process, seconds since 1970.", MetricType::Gauge,
        figures.start_seconds);
    add("process_cpu_seconds_total", "Processor time of all threads.", MetricType::Counter, figures.cpu_seconds);
    add("process_resident_memory_bytes", "Resident memory.", MetricType::Gauge, figures.resident_bytes);
    add("process_open_fds", "Open file descriptors.", MetricType::Gauge, figures.open_files);
  }
  std::vector<MetricFamily> Take() { return std::move(families_); }

 private:
  std::vector<MetricFamily> families_;
};

Labels MethodLabels(const rpc::MethodEntry& method) {
  const std::pair<std::string, std::string> parts = absl::StrSplit(method.name, absl::MaxSplits('/', 1));
  return {{"service", parts.first}, {"method", parts.second}};
}

void AddCalls(const std::vector<rpc::MethodFigures>& methods, Page* page) {
  const auto each = [&](auto add) {
    for (const rpc::MethodFigures& figures : methods) {
      // What stands for methods that are not in the table has no calls.
      if (figures.method != &rpc::MethodTable().back()) add(figures, MethodLabels(*figures.method));
    }
  };
  page->Family("calls_started_total", "Calls that came in, streams among them.", MetricType::Counter);
  each([&](const rpc::MethodFigures& of, const Labels& labels) { page->Add(labels, static_cast<double>(of.started)); });
  page->Family("calls_handled_total", "Calls that ended, by status code.", MetricType::Counter);
  each([&](const rpc::MethodFigures& of, const Labels& labels) {
    for (size_t code = 0; code < rpc::kStatusCodes; ++code) {
      if (of.ended[code] == 0 && code != 0) continue;
      Labels with_code = labels;
      with_code.push_back({"code", std::string(rpc::NameOf(static_cast<grpc::StatusCode>(code)))});
      page->Add(with_code, static_cast<double>(of.ended[code]));
    }
  });
  page->Family("calls_in_flight", "Calls that have not ended.", MetricType::Gauge);
  each([&](const rpc::MethodFigures& of, const Labels& labels) {
    page->Add(labels, static_cast<double>(of.in_flight()));
  });
  page->Family("call_duration_seconds", "From the arrival of a call, request read, to its status; streams left out.",
               MetricType::Histogram);
  each([&](const rpc::MethodFigures& of, const Labels& labels) {
    if (!of.method->stream) page->Add(labels, of.times);
  });
  page->Family("stream_messages_received_total", "Messages of streams that came in.", MetricType::Counter);
  each([&](const rpc::MethodFigures& of, const Labels& labels) {
    if (of.method->stream) page->Add(labels, static_cast<double>(of.received));
  });
  page->Family("stream_messages_sent_total", "Messages of streams that went out.", MetricType::Counter);
  each([&](const rpc::MethodFigures& of, const Labels& labels) {
    if (of.method->stream) page->Add(labels, static_cast<double>(of.sent));
  });
}

void AddQueues(const rpc::ServerFigures& figures, Page* page) {
  page->Gauge("streams_open", "Streams that are open.", figures.streams_open);
  page->Gauge("streams_limit", "Streams that may be open.", figures.most_streams);
  page->Family("queue_length", "Calls that wait for a thread: one that computes, or one that waits for the archive.",
               MetricType::Gauge);
  page->Add({{"queue", "computing"}}, static_cast<double>(figures.computing_waiting));
  page->Add({{"queue", "storage"}}, static_cast<double>(figures.storage_waiting));
  page->Family("queue_limit", "Calls that may wait; further ones are told RESOURCE_EXHAUSTED.", MetricType::Gauge);
  page->Add({{"queue", "computing"}}, static_cast<double>(figures.most_computing_waiting));
  page->Add({{"queue", "storage"}}, static_cast<double>(figures.most_storage_waiting));
}

void AddArchive(const archive::Archive& archive, const ArchiveSizes::Known& known, Page* page) {
  const archive::Activity done = archive.Done();
  page->Gauge("archive_writes_waiting", "Writes that wait for the disk.", done.writes_waiting);
  page->Gauge("archive_writes_waiting_greatest", "The most that ever waited since the start.", done.greatest_waiting);
  page->Gauge("archive_writes_waiting_limit", "Writes that may wait; further ones are told RESOURCE_EXHAUSTED.",
              archive.most_writes_waiting());
  page->Counter("archive_writes_total", "Writes answered, kept or refused; an import counts as one.",
                static_cast<double>(done.writes));
  page->Counter("archive_commits_total", "Commits, each of all writes that waited.", static_cast<double>(done.commits));
  page->Counter("archive_commits_failed_total", "Commits that did not stand or that nobody answered for.",
                static_cast<double>(done.failed_commits));
  page->Family("archive_commit_duration_seconds", "From the beginning of a transaction to its commit on the disk.",
               MetricType::Histogram);
  page->Add({}, done.commit_times);
  page->Counter("archive_damaged_reads_total", "Reads that met an entry that is not as it was written.",
                static_cast<double>(done.damaged_met));
  page->Gauge("archive_up", "1 where the store answered this scrape; what follows is of its last answer.",
              known.answered ? 1 : 0);
  page->Gauge("archive_bytes", "What the store takes on its disk.", static_cast<double>(known.bytes));
  page->Gauge("archive_entries", "Entries of the log.", static_cast<double>(known.size.entries));
  page->Family("archive_resources", "Windings, jobs and readings that are not deleted.", MetricType::Gauge);
  page->Add({{"kind", "winding"}}, static_cast<double>(known.size.windings));
  page->Add({{"kind", "job"}}, static_cast<double>(known.size.jobs));
  page->Add({{"kind", "readings"}}, static_cast<double>(known.size.readings));
}

}  // namespace

class Metrics::Collected final : public prometheus::Collectable {
 public:
  explicit Collected(Watched watched) : watched_(std::move(watched)) {
    if (watched_.archive != nullptr) sizes_ = std::make_unique<ArchiveSizes>(watched_.archive);
  }

  // Nothing is read from what is watched any more.
  void Close() {
    const std::lock_guard<std::mutex> lock(mutex_);
    closed_ = true;
    sizes_ = nullptr;
    watched_ = {};
  }

  std::vector<MetricFamily> Collect() const override {
    const std::lock_guard<std::mutex> lock(mutex_);
    Page page;
    if (closed_) return page.Take();
    page.Family("build_info", "Always 1; what runs here.", MetricType::Gauge);
    page.Add({{"version", watched_.version},
              {"data_revision", std::string(standards::DataRevision())},
              {"store", watched_.archive == nullptr ? "none" : watched_.archive->store()}},
             1);
    const rpc::ServerFigures figures = watched_.server->Figures();
    AddCalls(figures.methods, &page);
    AddQueues(figures, &page);
    if (watched_.archive != nullptr) AddArchive(*watched_.archive, sizes_->Read(), &page);
    if (!watched_.certificates.empty()) {
      page.Family("certificate_expiry_timestamp_seconds", "End of each certificate, seconds since 1970.",
                  MetricType::Gauge);
    }
    for (const auto& [name, end] : watched_.certificates)
      page.Add({{"certificate", name}}, absl::ToDoubleSeconds(end - absl::UnixEpoch()));
    if (watched_.log != nullptr) {
      page.Counter("log_lines_dropped_total", "Lines of the log that nobody took in time.",
                   static_cast<double>(watched_.log->dropped()));
    }
    page.Process(ReadProcess());
    return page.Take();
  }

 private:
  Watched watched_;
  mutable std::mutex mutex_;
  bool closed_ = false;
  std::unique_ptr<ArchiveSizes> sizes_;
};

struct Metrics::Own {
  std::shared_ptr<Collected> collected;
  std::unique_ptr<prometheus::Exposer> exposer;
  Own* before = nullptr;  // that was left to the end of the process
};

Metrics::Metrics() = default;

// The threads that serve HTTP look for the end of their work every two seconds only, and would hold up a stop. They are
// left to the end of the process, with nothing to tell.
Metrics::~Metrics() {
  if (own_ == nullptr || own_->exposer == nullptr) return;
  own_->collected->Close();
  static Own* left = nullptr;
  own_->before = left;
  left = own_.release();
}

absl::StatusOr<std::unique_ptr<Metrics>> Metrics::Serve(const std::string& host, int port, Watched watched) {
  std::unique_ptr<Metrics> metrics(new Metrics);
  metrics->own_ = std::make_unique<Own>();
  metrics->own_->collected = std::make_shared<Collected>(std::move(watched));
  const std::string address = absl::StrCat(host, ":", port);
  try {
    metrics->own_->exposer = std::make_unique<prometheus::Exposer>(address);
    metrics->own_->exposer->RegisterCollectable(metrics->own_->collected);
    metrics->port_ = metrics->own_->exposer->GetListeningPorts().at(0);
  } catch (const std::exception&) {
    return absl::UnavailableError(absl::StrCat("cannot serve metrics on ", address,
                                               ": address in use, not an address of this machine, or not permitted"));
  }
  return metrics;
}

}  // namespace coilwright
