#pragma once

#include "absl/strings/string_view.h"

namespace coilwright {

// Tells a supervisor that listens on the socket named by NOTIFY_SOCKET, as systemd does for a service of Type=notify:
// "READY=1", "STOPPING=1". Nothing happens where there is none, or where it does not take the message.
void Notify(absl::string_view state);

}  // namespace coilwright
