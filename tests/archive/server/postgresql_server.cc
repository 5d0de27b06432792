#include "archive/server/postgresql_server.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <grp.h>
#include <netinet/in.h>
#include <pwd.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <memory>
#include <pqxx/pqxx>
#include <sstream>
#include <thread>
#include <vector>

namespace coilwright::archive {
namespace {

namespace fs = std::filesystem;

constexpr char kPrefix[] = "coilwright-postgresql-";

[[noreturn]] void Give(const std::string& why) {
  std::cerr << "PostgreSQL for the tests: " << why << "\n";
  std::exit(1);
}

// The newest of those that the packages have installed.
std::string Program(const std::string& name) {
  std::vector<std::pair<int, std::string>> found;
  std::error_code none;
  for (const auto& version : fs::directory_iterator("/usr/lib/postgresql", none)) {
    const std::string file = version.path() / "bin" / name;
    if (access(file.c_str(), X_OK) == 0) found.emplace_back(std::atoi(version.path().filename().c_str()), file);
  }
  if (found.empty()) Give("no " + name + " below /usr/lib/postgresql; bash .ci/setup.sh tests installs it");
  return std::max_element(found.begin(), found.end())->second;
}

// PostgreSQL refuses to run as root.
const passwd* OtherUser() {
  if (geteuid() != 0) return nullptr;
  const passwd* user = getpwnam("postgres");
  if (user == nullptr) Give("running as root, and there is no user postgres");
  return user;
}

// Starts a program as who may run it, its output into `log`; it ends with this one.
pid_t Launch(const std::vector<std::string>& words, const std::string& log, const std::string& folder) {
  const passwd* user = OtherUser();
  std::vector<char*> arguments;
  for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  const pid_t parent = getpid();
  const pid_t process = fork();
  if (process < 0) Give(std::string("fork: ") + std::strerror(errno));
  if (process > 0) return process;
  if (user != nullptr &&
      (setgid(user->pw_gid) != 0 || initgroups(user->pw_name, user->pw_gid) != 0 || setuid(user->pw_uid) != 0)) {
    _exit(126);
  }
  // After the change of user, which would take it back. SIGQUIT: no time is lost on a database that nobody will read.
  prctl(PR_SET_PDEATHSIG, SIGQUIT);
  if (getppid() != parent || chdir(folder.c_str()) != 0) _exit(126);
  setpgid(0, 0);  // an interrupt of the terminal is for the tests
  const int output = open(log.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
  const int input = open("/dev/null", O_RDONLY | O_CLOEXEC);
  if (output < 0 || input < 0) _exit(126);
  dup2(input, 0);
  dup2(output, 1);
  dup2(output, 2);
  sigset_t all;  // a program of tests may block what the server lives by
  sigemptyset(&all);
  sigprocmask(SIG_SETMASK, &all, nullptr);
  execv(arguments[0], arguments.data());
  _exit(127);
}

int FreePort() {
  const int server = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof(address);
  if (bind(server, reinterpret_cast<sockaddr*>(&address), size) != 0 ||
      getsockname(server, reinterpret_cast<sockaddr*>(&address), &size) != 0) {
    Give("no free port on loopback");
  }
  close(server);
  return ntohs(address.sin_port);
}

std::string Contents(const std::string& file) {
  std::ostringstream text;
  text << std::ifstream(file).rdbuf();
  return text.str();
}

// A folder whose test program was killed stays behind; its name tells the process.
void SweepOldFolders(const fs::path& place) {
  std::error_code none;
  for (const auto& folder : fs::directory_iterator(place, none)) {
    const std::string name = folder.path().filename();
    if (name.rfind(kPrefix, 0) != 0) continue;
    const pid_t owner = std::atoi(name.c_str() + sizeof(kPrefix) - 1);
    if (owner > 0 && kill(owner, 0) != 0 && errno == ESRCH) fs::remove_all(folder, none);
  }
}

std::string FreshFolder() {
  const char* named = std::getenv("TMPDIR");
  const fs::path place = named != nullptr && *named != '\0' ? named : "/var/tmp";
  SweepOldFolders(place);
  std::string folder = place / (kPrefix + std::to_string(getpid()) + "-XXXXXX");
  if (mkdtemp(folder.data()) == nullptr) Give("no folder " + folder + ": " + std::strerror(errno));
  const passwd* user = OtherUser();
  if (user != nullptr && chown(folder.c_str(), user->pw_uid, user->pw_gid) != 0) Give("chown " + folder);
  return folder;
}

std::vector<pid_t> ChildrenOf(pid_t parent) {
  std::vector<pid_t> children;
  std::error_code none;
  for (const auto& process : fs::directory_iterator("/proc", none)) {
    const pid_t id = std::atoi(process.path().filename().c_str());
    if (id <= 0) continue;
    const std::string stat = Contents(process.path() / "stat");  // "id (name) state parent ..."
    const size_t end = stat.rfind(')');
    if (end != std::string::npos && std::atoi(stat.c_str() + std::min(end + 4, stat.size())) == parent) {
      children.push_back(id);
    }
  }
  return children;
}

std::string Quoted(const std::string& text, const std::string& plain = "") {
  std::string quoted;
  for (const char c : text) {
    char hex[4];
    std::snprintf(hex, sizeof(hex), "%%%02X", static_cast<unsigned char>(c));
    const bool as_it_is = isalnum(static_cast<unsigned char>(c)) != 0 || plain.find(c) != std::string::npos;
    quoted += as_it_is ? std::string(1, c) : hex;
  }
  return quoted;
}

}  // namespace

PostgresqlServer::PostgresqlServer(const Options& options) : options_(options), folder_(FreshFolder()) {
  prctl(PR_SET_CHILD_SUBREAPER, 1);
  const std::string secret = folder_ + "/password", log = folder_ + "/initdb.log";
  std::ofstream(secret) << password() << "\n";
  fs::permissions(secret, fs::perms::owner_read | fs::perms::group_read | fs::perms::others_read);
  const pid_t setup =
      Launch({Program("initdb"), "--pgdata=" + folder_ + "/data", "--username=coilwright", "--pwfile=" + secret,
              "--auth-local=trust", "--auth-host=scram-sha-256", "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync"},
             log, folder_);
  int status = 0;
  if (waitpid(setup, &status, 0) != setup || status != 0) Give("initdb: " + Contents(log));
  Start();
}

PostgresqlServer::~PostgresqlServer() {
  Kill();  // nobody will read what it would still write
  std::error_code none;
  fs::remove_all(folder_, none);
}

void PostgresqlServer::Stop() {
  if (process_ == 0) return;
  kill(process_, SIGINT);
  waitpid(process_, nullptr, 0);
  process_ = 0;
}

void PostgresqlServer::Kill() {
  if (process_ == 0) return;
  kill(process_, SIGSTOP);  // it makes no more of them while they are counted
  const std::vector<pid_t> children = ChildrenOf(process_);
  for (const pid_t child : children) kill(child, SIGKILL);
  kill(process_, SIGKILL);
  waitpid(process_, nullptr, 0);
  for (const pid_t child : children) waitpid(child, nullptr, 0);  // ours since their parent is gone
  process_ = 0;
}

void PostgresqlServer::Start() {
  const std::string log = folder_ + "/server.log";
  const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(60);
  if (options_.loopback) port_ = FreePort();
  std::string said;
  while (std::chrono::steady_clock::now() < give_up) {
    if (process_ == 0) {
      process_ = Launch(
          {Program("postgres"), "-D", folder_ + "/data", "-k", folder_, "-p", std::to_string(port_ == 0 ? 5432 : port_),
           "-c", options_.loopback ? "listen_addresses=127.0.0.1" : "listen_addresses=", "-c",
           options_.durable ? "fsync=on" : "fsync=off", "-c", "max_connections=200", "-c", "shared_buffers=64MB", "-c",
           "timezone=UTC"},
          log, folder_);
    }
    try {
      const pqxx::connection connection(SocketUrl(folder_, "postgres") +
                                        "&port=" + std::to_string(port_ == 0 ? 5432 : port_));
      return;
    } catch (const std::exception& error) {
      said = error.what();
    }
    // After a kill the old processes may hold the shared memory for a moment, and the server gives up.
    if (waitpid(process_, nullptr, WNOHANG) == process_) process_ = 0;
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
  Give("the server does not answer: " + said + "\n" + Contents(log));
}

std::string PostgresqlServer::Url(const std::string& database) const {
  return SocketUrl(folder_, database) + (port_ == 0 ? "" : "&port=" + std::to_string(port_));
}

std::string PostgresqlServer::LoopbackUrl(const std::string& password, const std::string& database) const {
  return "postgresql://coilwright:" + Quoted(password) + "@127.0.0.1:" + std::to_string(port_) + "/" + database;
}

std::string SocketUrl(const std::string& folder, const std::string& database) {
  return "postgresql:///" + database + "?user=coilwright&port=5432&host=" + Quoted(folder, "/-_.");
}

std::string DatabaseOf(const std::string& socket_url) {
  const size_t begin = sizeof("postgresql:///") - 1;
  return socket_url.substr(begin, socket_url.find('?') - begin);
}

std::string FolderOf(const std::string& socket_url) { return socket_url.substr(socket_url.find("host=") + 5); }

void RunSql(const std::string& folder, const std::string& database, const std::string& sql) {
  try {
    pqxx::connection connection(SocketUrl(folder, database));
    pqxx::nontransaction(connection).exec(sql);
  } catch (const std::exception& error) {
    Give(error.what());
  }
}

std::string NewPostgresqlDatabase() {
  static const std::string folder = [] {
    std::string shared;
    std::getline(std::ifstream(COILWRIGHT_BINARY_DIR "/tests/postgresql.folder"), shared);
    try {
      if (!shared.empty()) {
        const pqxx::connection connection(SocketUrl(shared, "postgres"));
        return shared;
      }
    } catch (const std::exception&) {
      // Left over by a run that was killed.
    }
    static const PostgresqlServer own({/*durable=*/false, /*loopback=*/false});
    return own.folder();
  }();
  static std::atomic<int> number{0};
  const std::string database = "test_" + std::to_string(getpid()) + "_" + std::to_string(++number);
  // Two at once from one template would disturb each other; template0 has no connections.
  RunSql(folder, "postgres", "CREATE DATABASE " + database + " TEMPLATE template0");
  return SocketUrl(folder, database);
}

}  // namespace coilwright::archive
