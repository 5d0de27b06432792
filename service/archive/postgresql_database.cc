#include <cmath>
#include <map>
#include <memory>
#include <pqxx/pqxx>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "absl/strings/escaping.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_format.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/strip.h"
#include "archive/database.h"
#include "archive/postgresql_errors.h"
#include "archive/postgresql_url.h"

namespace coilwright::archive {
namespace {

// One number for all writers of one database; spells "coilwrit".
constexpr int64_t kWriteLock = 0x636f696c77726974;
constexpr int kOldestServer = 120000;
// Statements that are put together from what is asked for may be many; beyond these they are not kept.
constexpr size_t kMostPrepared = 256;
// Statements that wait are sent before they take more room than this.
constexpr size_t kMostWaitingBytes = 1 << 20;

// A parameter on its way to libpqxx, which takes a list of one type only.
struct Parameter {
  const Value* value;
};

std::string TextOf(const Value& value) {
  if (const auto* number = std::get_if<int64_t>(&value)) return absl::StrCat(*number);
  if (const auto* number = std::get_if<double>(&value)) {
    if (std::isfinite(*number)) return absl::StrFormat("%.17g", *number);
    return std::isnan(*number) ? "NaN" : *number > 0 ? "Infinity" : "-Infinity";
  }
  if (const auto* text = std::get_if<std::string>(&value)) return *text;
  return absl::StrCat("\\x", absl::BytesToHexString(std::get<Blob>(value).bytes));
}

}  // namespace
}  // namespace coilwright::archive

namespace pqxx {

template <>
struct string_traits<coilwright::archive::Parameter> {
  static constexpr const char* name() noexcept { return "Parameter"; }
  static constexpr bool has_null() noexcept { return true; }
  static bool is_null(const coilwright::archive::Parameter& parameter) {
    return std::holds_alternative<std::monostate>(*parameter.value);
  }
  static std::string to_string(const coilwright::archive::Parameter& parameter) {
    return coilwright::archive::TextOf(*parameter.value);
  }
};

}  // namespace pqxx

namespace coilwright::archive {
namespace {

// Object identifiers of the built-in types (PostgreSQL's catalogue pg_type); they never change.
enum TypeId : pqxx::oid {
  kBool = 16,
  kBytea = 17,
  kInt8 = 20,
  kInt2 = 21,
  kInt4 = 23,
  kFloat4 = 700,
  kFloat8 = 701,
  kNumeric = 1700
};

Value ValueOf(const pqxx::field& field) {
  if (field.is_null()) return std::monostate();
  absl::string_view text(field.c_str(), field.size());
  int64_t whole = 0;
  double number = 0;
  switch (field.type()) {
    case kBool:
      return int64_t{text == "t"};
    case kNumeric:  // what sum() makes of whole numbers
    case kInt8:
    case kInt4:
    case kInt2:
      if (absl::SimpleAtoi(text, &whole)) return whole;
      [[fallthrough]];
    case kFloat8:
    case kFloat4:
      if (absl::SimpleAtod(text, &number)) return number;
      return std::string(text);
    case kBytea:
      absl::ConsumePrefix(&text, "\\x");
      return Blob{absl::HexStringToBytes(text)};
    default:
      return std::string(text);
  }
}

std::vector<Row> RowsOf(const pqxx::result& result) {
  std::vector<Row> rows;
  rows.reserve(result.size());
  for (const pqxx::row& from : result) {
    Row& row = rows.emplace_back();
    row.reserve(from.size());
    for (const pqxx::field& field : from) row.push_back(ValueOf(field));
  }
  return rows;
}

class PostgresqlDatabase : public Database {
 public:
  explicit PostgresqlDatabase(const std::string& connection) : connection_(connection), quiet_(connection_) {
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wdeprecated-declarations"
    // A connection that comes back by itself would go on in the middle of a lost transaction, without its settings.
    connection_.inhibit_reactivation(true);
#pragma GCC diagnostic pop
  }
  ~PostgresqlDatabase() override { PostgresqlDatabase::Rollback(); }

  // What each session must have, whatever the server's own defaults are.
  absl::Status Begin() {
    const int number = connection_.server_version();
    version_ = absl::StrCat("PostgreSQL ", number / 10000, ".", number % 10000);
    if (number < kOldestServer) {
      return absl::FailedPreconditionError(
          absl::StrCat("the database server is ", version_, "; the archive needs PostgreSQL 12 or later"));
    }
    auto set = Query(
        "SELECT current_setting('server_encoding'), current_database(), set_config('client_encoding', 'UTF8', false), "
        "set_config('bytea_output', 'hex', false), set_config('extra_float_digits', '1', false), "
        "set_config('standard_conforming_strings', 'on', false), set_config('jit', 'off', false), "
        // A plan made while a table was small, or for words unlike those asked for, would be kept as it grows; and
        // there is an index for every question.
        "set_config('plan_cache_mode', 'force_custom_plan', false), set_config('enable_seqscan', 'off', false), "
        // A write sees what the writer before it committed only if its snapshot is newer than its turn.
        "set_config('default_transaction_isolation', 'read committed', false), "
        "CASE WHEN current_setting('synchronous_commit') = 'off' THEN set_config('synchronous_commit', 'on', false) "
        "END, "
        // Nothing hangs for ever, and a replica that vanished in its turn does not hold up the others.
        "set_config('statement_timeout', '30s', false), set_config('lock_timeout', '20s', false), "
        "set_config('idle_in_transaction_session_timeout', '30s', false), "
        "set_config('tcp_keepalives_idle', '10', false), set_config('tcp_keepalives_interval', '5', false), "
        "set_config('tcp_keepalives_count', '4', false), set_config('tcp_user_timeout', '30000', false)",
        {});
    if (!set.ok()) return set.status();
    const auto encoding = std::get<std::string>(set->at(0).at(0));
    if (encoding != "UTF8") {
      return absl::FailedPreconditionError(
          absl::StrCat("the database \"", std::get<std::string>(set->at(0).at(1)), "\" has the encoding ", encoding,
                       "; the archive needs UTF8, as from: createdb --template=template0 --encoding=UTF8 NAME"));
    }
    return absl::OkStatus();
  }

  Dialect dialect() const override { return Dialect::kPostgresql; }
  std::string version() const override { return version_; }

  absl::StatusOr<std::vector<Row>> Query(absl::string_view sql, const std::vector<Value>& parameters) override {
    if (absl::Status text = TextsAreText(parameters); !text.ok()) return text;
    if (absl::Status sent = SendWaiting(); !sent.ok()) return sent;
    std::vector<Parameter> list;
    list.reserve(parameters.size());
    for (const Value& value : parameters) list.push_back({&value});
    std::vector<Row> rows;
    absl::Status status = Guard([&] {
      const auto values = pqxx::prepare::make_dynamic_params(list);
      InTransaction([&](pqxx::transaction_base& transaction) {
        const std::string* name = Prepared(sql);
        rows = RowsOf(name != nullptr ? transaction.exec_prepared(*name, values)
                                      : transaction.exec_params(std::string(sql), values));
      });
    });
    if (!status.ok()) return status;
    return rows;
  }

  // A journey to the server costs more than the statement, so they go as one text.
  absl::Status Later(absl::string_view sql, const std::vector<Value>& parameters) override {
    if (absl::Status text = TextsAreText(parameters); !text.ok()) return text;
    const std::string* name = nullptr;
    absl::Status status = Guard([&] {
      if (!transaction_) return;
      name = Prepared(sql);
      if (name != nullptr) connection_.prepare_now(*name);
    });
    if (!status.ok()) return status;
    if (name == nullptr) return Query(sql, parameters).status();
    absl::StrAppend(&waiting_, "EXECUTE ", *name);
    const char* before = " (";
    for (const Value& value : parameters) {
      const bool null = std::holds_alternative<std::monostate>(value);
      // Sound as standard_conforming_strings is on.
      absl::StrAppend(&waiting_, before,
                      null ? "NULL" : absl::StrCat("'", absl::StrReplaceAll(TextOf(value), {{"'", "''"}}), "'"));
      before = ", ";
    }
    absl::StrAppend(&waiting_, parameters.empty() ? ";" : ");");
    return waiting_.size() < kMostWaitingBytes ? absl::OkStatus() : SendWaiting();
  }

  absl::Status Run(absl::string_view sql) override {
    if (absl::Status sent = SendWaiting(); !sent.ok()) return sent;
    return Guard([&] {
      InTransaction([&](pqxx::transaction_base& transaction) {
        // A new schema over a large archive takes its time.
        if (transaction_) transaction.exec("SET LOCAL statement_timeout = 0");
        transaction.exec(std::string(sql));
      });
    });
  }

  absl::Status BeginWrite() override {
    return Start([&] {
      transaction_ = std::make_unique<pqxx::transaction<pqxx::read_committed, pqxx::read_write>>(connection_);
      transaction_->exec(absl::StrCat("SELECT pg_advisory_xact_lock(", kWriteLock, ")"));
    });
  }

  absl::Status BeginRead() override {
    return Start([&] {
      transaction_ = std::make_unique<pqxx::transaction<pqxx::repeatable_read, pqxx::read_only>>(connection_);
    });
  }

  absl::Status Commit() override {
    if (!transaction_) return absl::InternalError("PostgreSQL: no transaction to commit");
    if (absl::Status sent = SendWaiting(); !sent.ok()) {
      Rollback();
      return sent;
    }
    if (failed_) {
      // The server would answer such a commit with a silent rollback.
      Rollback();
      return absl::AbortedError("PostgreSQL: a statement of this transaction failed, so nothing of it is kept");
    }
    absl::Status status = Guard([&] { transaction_->commit(); });
    Rollback();
    return status;
  }

  void Rollback() override {
    try {
      if (transaction_ && connection_.is_open()) transaction_->abort();
    } catch (...) {
      // One that is committed has nothing to abort; one whose connection broke is rolled back by the server.
    }
    transaction_.reset();
    failed_ = false;
    waiting_.clear();
  }

 private:
  template <typename Body>
  absl::Status Guard(const Body& body) {
    try {
      if (!connection_.is_open()) return absl::UnavailableError("PostgreSQL: the connection to the server was lost");
      body();
      return absl::OkStatus();
    } catch (...) {
      failed_ = transaction_ != nullptr;
      return StatusOfException(connection_.is_open());
    }
  }

  template <typename Body>
  absl::Status Start(const Body& body) {
    if (transaction_) return absl::InternalError("PostgreSQL: a transaction within a transaction");
    absl::Status status = Guard(body);
    if (!status.ok()) Rollback();
    return status;
  }

  template <typename Body>
  void InTransaction(const Body& body) {
    if (transaction_) return body(*transaction_);
    pqxx::nontransaction alone(connection_);
    body(alone);
  }

  static absl::Status TextsAreText(const std::vector<Value>& parameters) {
    for (const Value& value : parameters) {
      const auto* text = std::get_if<std::string>(&value);
      if (text != nullptr && text->find('\0') != std::string::npos) {
        return absl::InvalidArgumentError("PostgreSQL: a text holds a NUL character");
      }
    }
    return absl::OkStatus();
  }

  absl::Status SendWaiting() {
    if (waiting_.empty()) return absl::OkStatus();
    absl::Status status = Guard([&] { transaction_->exec(waiting_); });
    waiting_.clear();
    return status;
  }

  // Its name, or null where too many are kept.
  const std::string* Prepared(absl::string_view sql) {
    auto found = prepared_.find(sql);
    if (found == prepared_.end()) {
      if (prepared_.size() >= kMostPrepared) return nullptr;
      const std::string name = absl::StrCat("s", prepared_.size());
      connection_.prepare(name, std::string(sql));
      found = prepared_.emplace(std::string(sql), name).first;
    }
    return &found->second;
  }

  pqxx::connection connection_;
  pqxx::quiet_errorhandler quiet_;  // notices do not belong on the program's stderr
  std::unique_ptr<pqxx::transaction_base> transaction_;
  bool failed_ = false;
  std::string waiting_;  // statements that were not sent yet
  std::map<std::string, std::string, std::less<>> prepared_;
  std::string version_;
};

absl::StatusOr<std::unique_ptr<Database>> Connect(const std::string& connection) {
  std::unique_ptr<PostgresqlDatabase> database;
  try {
    database = std::make_unique<PostgresqlDatabase>(connection);
  } catch (...) {
    return StatusOfException(false);
  }
  absl::Status status = database->Begin();
  if (!status.ok()) return status;
  return database;
}

}  // namespace

absl::StatusOr<OpenDatabase> OpenPostgresql(const std::string& url) {
  auto connection = PostgresqlConnectionString(url);
  if (!connection.ok()) return connection.status();
  return OpenDatabase([connection = *std::move(connection)] { return Connect(connection); });
}

}  // namespace coilwright::archive
