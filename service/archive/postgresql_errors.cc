#include "archive/postgresql_errors.h"

#include <exception>
#include <pqxx/except>
#include <string>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_replace.h"

namespace coilwright::archive {
namespace {

absl::Status Say(absl::StatusCode code, absl::string_view text, absl::string_view more = "") {
  const std::string line = absl::StrReplaceAll(absl::StripAsciiWhitespace(text), {{"\n", "; "}, {"\t", " "}});
  return absl::Status(code, absl::StrCat("PostgreSQL: ", line, more));
}

absl::string_view Advice(absl::StatusCode code) {
  switch (code) {
    case absl::StatusCode::kResourceExhausted:
      return "; make room where the database server keeps its data";
    case absl::StatusCode::kDataLoss:
      return "; stop every coilwrightd on it, keep a copy of the server's data folder and restore the last backup into "
             "a "
             "new database";
    case absl::StatusCode::kPermissionDenied:
      return "; the archive needs a primary server and a role that may create and write tables";
    default:
      return "";
  }
}

}  // namespace

absl::StatusCode CodeOfSqlState(absl::string_view state) {
  const absl::string_view kind = state.substr(0, 2);
  // Too many connections, and a server that stops, starts or cancels what took too long.
  if (kind == "08" || state == "53300" || absl::StartsWith(state, "57P") || state == "57014" || state == "25P03" ||
      state == "58030") {
    return absl::StatusCode::kUnavailable;
  }
  // A statement prepared before another replica changed the schema: a new connection prepares it again.
  if (state == "0A000" || state == "26000") return absl::StatusCode::kUnavailable;
  if (kind == "53") return absl::StatusCode::kResourceExhausted;  // disk or memory
  if (kind == "40" || state == "55P03" || state == "25P02") return absl::StatusCode::kAborted;
  if (kind == "28" || state == "25006" || state == "42501") return absl::StatusCode::kPermissionDenied;
  if (kind == "XX" && state != "XX000") return absl::StatusCode::kDataLoss;  // a page or an index is corrupt
  if (state == "58P01" || state == "58P02") return absl::StatusCode::kDataLoss;
  if (state == "23505") return absl::StatusCode::kAlreadyExists;
  if (state == "22021" || state == "22P05") return absl::StatusCode::kInvalidArgument;  // no UTF-8
  return absl::StatusCode::kInternal;
}

absl::Status StatusOfException(bool connected) {
  try {
    throw;
  } catch (const pqxx::in_doubt_error& error) {
    return Say(absl::StatusCode::kUnavailable, error.what());
  } catch (const pqxx::broken_connection& error) {
    return Say(absl::StatusCode::kUnavailable, error.what());
  } catch (const pqxx::transaction_rollback& error) {
    return Say(connected ? absl::StatusCode::kAborted : absl::StatusCode::kUnavailable, error.what());
  } catch (const pqxx::sql_error& error) {
    const absl::StatusCode code = connected ? CodeOfSqlState(error.sqlstate()) : absl::StatusCode::kUnavailable;
    return Say(code, error.what(), absl::StrCat(Advice(code), " [", error.sqlstate(), "]"));
  } catch (const std::bad_alloc&) {
    return Say(absl::StatusCode::kResourceExhausted, "no memory for the answer");
  } catch (const std::exception& error) {
    return Say(connected ? absl::StatusCode::kInternal : absl::StatusCode::kUnavailable, error.what());
  } catch (...) {
    return Say(absl::StatusCode::kInternal, "an error of no known kind");
  }
}

}  // namespace coilwright::archive
