#pragma once

#include <string>
#include <utility>

#include "absl/flags/declare.h"

// The flags of coilwrightd. Its help, its manual page and the file of flags that is installed are made from them.
ABSL_DECLARE_FLAG(std::string, host);
ABSL_DECLARE_FLAG(int, port);
ABSL_DECLARE_FLAG(int, streams);
ABSL_DECLARE_FLAG(int, stream_idle_seconds);
ABSL_DECLARE_FLAG(std::string, settings);
ABSL_DECLARE_FLAG(std::string, archive);
ABSL_DECLARE_FLAG(std::string, tls_cert);
ABSL_DECLARE_FLAG(std::string, tls_key);
ABSL_DECLARE_FLAG(std::string, tls_client_ca);
ABSL_DECLARE_FLAG(std::string, roles);
ABSL_DECLARE_FLAG(bool, plain_text_beyond_loopback);
ABSL_DECLARE_FLAG(std::string, log);
ABSL_DECLARE_FLAG(int, metrics_port);
ABSL_DECLARE_FLAG(std::string, metrics_host);
ABSL_DECLARE_FLAG(int, grace_seconds);

namespace coilwright {

constexpr char kPurpose[] = "Winding data for motor repair over gRPC.";
// Each flag with what stands after it.
constexpr char kFlagForms[] =
    "[--host=ADDRESS] [--port=PORT] [--streams=N] [--stream_idle_seconds=N] [--settings=FILE] "
    "[--archive=FILE|postgresql://...|none] [--tls_cert=FILE --tls_key=FILE [--tls_client_ca=FILE [--roles=FILE]]] "
    "[--plain_text_beyond_loopback] [--log=calls|errors|none] [--metrics_port=PORT [--metrics_host=ADDRESS]] "
    "[--grace_seconds=N]";
constexpr std::pair<int, const char*> kExitStatuses[] = {
    {0, "after a clean stop"},
    {1, "when the address or the archive cannot be had or a flag is not understood"},
    {2, "for a flag out of range, wrong settings, certificates or roles"}};

}  // namespace coilwright
