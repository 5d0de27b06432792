#include "notify.h"

#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstddef>
#include <cstdlib>
#include <cstring>

namespace coilwright {

void Notify(absl::string_view state) {
  const char* name = std::getenv("NOTIFY_SOCKET");
  sockaddr_un address = {};
  address.sun_family = AF_UNIX;
  const size_t length = name == nullptr ? 0 : std::strlen(name);
  if (length < 2 || length >= sizeof address.sun_path || (name[0] != '/' && name[0] != '@')) return;
  std::memcpy(address.sun_path, name, length);
  // A name without a file begins with NUL, which no environment can hold: "@" stands for it.
  if (name[0] == '@') address.sun_path[0] = '\0';
  const int socket_file = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  if (socket_file < 0) return;
  (void)sendto(socket_file, state.data(), state.size(), MSG_NOSIGNAL, reinterpret_cast<const sockaddr*>(&address),
               static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + length));
  close(socket_file);
}

}  // namespace coilwright
