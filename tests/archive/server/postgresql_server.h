#pragma once

#include <sys/types.h>

#include <memory>
#include <string>

namespace coilwright::archive {

// A PostgreSQL server of our own in a fresh folder, as the installed package brings it: nothing of a server that
// already runs on the machine is touched. As root it runs as the package's user "postgres". Reached through a socket in
// its folder and, by a password, through a free port of loopback. Calls end the program with a message where the server
// cannot be had.
class PostgresqlServer {
 public:
  struct Options {
    bool durable = true;  // false where no test stops it hard: five times quicker
    bool loopback = false;
  };

  explicit PostgresqlServer(const Options& options);
  // Stops it and removes its folder.
  ~PostgresqlServer();
  PostgresqlServer(const PostgresqlServer&) = delete;
  PostgresqlServer& operator=(const PostgresqlServer&) = delete;

  // Every connection is cut, the server shuts down in order (SIGINT).
  void Stop();
  // SIGKILL to the server and all its processes at once, as in a power loss but for the disk.
  void Kill();
  // Starts it again in the same folder, and waits until it answers.
  void Start();

  const std::string& folder() const { return folder_; }
  std::string Url(const std::string& database) const;
  // By loopback, with a password.
  std::string LoopbackUrl(const std::string& password, const std::string& database) const;
  static const char* password() { return "a c@n/nery:%"; }

 private:
  Options options_;
  std::string folder_;
  int port_ = 0;
  pid_t process_ = 0;
};

// A URL of the database through the socket in the folder of a server.
std::string SocketUrl(const std::string& folder, const std::string& database);

std::string DatabaseOf(const std::string& socket_url);
std::string FolderOf(const std::string& socket_url);

// Runs SQL on the database of that name ("postgres" is there from the start); ends the program when it fails.
void RunSql(const std::string& folder, const std::string& database, const std::string& sql);

// The URL of a fresh, empty database on the server that the test run shares: the fixture of CTest starts it (program
// shared_postgresql); a test program that is run by hand starts one for itself.
std::string NewPostgresqlDatabase();

}  // namespace coilwright::archive
