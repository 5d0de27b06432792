#include "archive/server/cutting_proxy.h"

#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>

namespace coilwright::archive {
namespace {

sockaddr_un Address(const std::string& folder) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  std::snprintf(address.sun_path, sizeof(address.sun_path), "%s/.s.PGSQL.5432", folder.c_str());
  return address;
}

bool SendAll(int to, const char* bytes, size_t count) {
  while (count > 0) {
    const ssize_t sent = send(to, bytes, count, MSG_NOSIGNAL);
    if (sent <= 0) return false;
    bytes += sent;
    count -= static_cast<size_t>(sent);
  }
  return true;
}

// The simple query "COMMIT" as the protocol spells it (PostgreSQL documentation, "Message Formats"): Q, length 11,
// text.
bool IsCommit(const char* bytes, size_t count) {
  const char message[] = {'Q', 0, 0, 0, 11, 'C', 'O', 'M', 'M', 'I', 'T', 0};
  return memmem(bytes, count, message, sizeof(message)) != nullptr;
}

}  // namespace

CuttingProxy::CuttingProxy(const std::string& folder) : server_(folder) {
  folder_ = (std::filesystem::temp_directory_path() / "coilwright-proxy-XXXXXX").string();
  const bool made = mkdtemp(folder_.data()) != nullptr;
  listener_ = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const sockaddr_un address = Address(folder_);
  if (!made || bind(listener_, reinterpret_cast<const sockaddr*>(&address), sizeof(address)) != 0 ||
      listen(listener_, 64) != 0) {
    std::perror("proxy");
    std::exit(1);
  }
  thread_ = std::thread([this] { Listen(); });
}

CuttingProxy::~CuttingProxy() {
  stopping_ = true;
  thread_.join();
  for (std::thread& passing : passing_) passing.join();
  close(listener_);
  std::filesystem::remove_all(folder_);
}

void CuttingProxy::Listen() {
  while (!stopping_) {
    pollfd wait = {listener_, POLLIN, 0};
    if (poll(&wait, 1, 20) != 1) continue;
    const int client = accept(listener_, nullptr, nullptr);
    if (client >= 0) passing_.emplace_back([this, client] { Pass(client); });
  }
}

void CuttingProxy::Pass(int client) {
  const int server = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const sockaddr_un address = Address(server_);
  bool open = connect(server, reinterpret_cast<const sockaddr*>(&address), sizeof(address)) == 0;
  char bytes[65536];
  while (open && !stopping_) {
    pollfd wait[2] = {{client, POLLIN, 0}, {server, POLLIN, 0}};
    if (poll(wait, 2, 20) <= 0) continue;
    if (wait[0].revents != 0) {
      const ssize_t count = read(client, bytes, sizeof(bytes));
      if (count <= 0) break;
      const auto size = static_cast<size_t>(count);
      const Cut cut = IsCommit(bytes, size) ? next_.exchange(Cut::kNone) : Cut::kNone;
      if (cut != Cut::kNone) ++cuts_;
      if (cut == Cut::kBefore) break;
      if (cut == Cut::kLate) {
        shutdown(client, SHUT_RDWR);
        std::this_thread::sleep_for(std::chrono::seconds(1));
      }
      open = SendAll(server, bytes, size);
      if (cut == Cut::kAfter || cut == Cut::kLate) {
        if (open && read(server, bytes, sizeof(bytes)) > 0) ++unheard_;
        break;
      }
    }
    if (wait[1].revents != 0) {
      const ssize_t count = read(server, bytes, sizeof(bytes));
      if (count <= 0) break;
      open = SendAll(client, bytes, static_cast<size_t>(count));
    }
  }
  close(client);
  close(server);
}

}  // namespace coilwright::archive
