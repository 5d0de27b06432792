#include "coilwrightd_flags.h"

#include "absl/flags/flag.h"

ABSL_FLAG(std::string, host, "127.0.0.1", "Address to listen on; beyond loopback with TLS.");
ABSL_FLAG(int, port, 7360, "Port to listen on; 0 takes a free one and prints it.");
ABSL_FLAG(int, streams, 512, "How many streams may be open at once; one more is told RESOURCE_EXHAUSTED.");
ABSL_FLAG(int, stream_idle_seconds, 3600, "A stream on which nothing has moved for this long is ended.");
ABSL_FLAG(std::string, settings, "", "File with the shop's own levels; see docs/settings.md.");
ABSL_FLAG(std::string, archive, "",
          "Where windings, jobs and readings are kept: a file, postgresql://USER@HOST:PORT/DATABASE, or none. Default: "
          "coilwright/archive.db in XDG_DATA_HOME or ~/.local/share.");
ABSL_FLAG(std::string, tls_cert, "", "TLS: certificate of this server in PEM, those of its issuers after it.");
ABSL_FLAG(std::string, tls_key, "", "TLS: its private key in PEM, without a passphrase.");
ABSL_FLAG(std::string, tls_client_ca, "",
          "Mutual TLS: a client must show a certificate of an authority in this PEM file.");
ABSL_FLAG(std::string, roles, "", "File with a role for each client certificate; see docs/operations.md.");
ABSL_FLAG(bool, plain_text_beyond_loopback, false,
          "Serve without TLS on an address that others reach: everybody there may read and write everything.");
ABSL_FLAG(
    std::string, log, "errors",
    "Which calls are logged to standard error, one line each: calls (all), errors (those not answered OK), none.");
ABSL_FLAG(int, metrics_port, -1, "Port for figures in the format of Prometheus, over HTTP; 0 takes a free one.");
ABSL_FLAG(std::string, metrics_host, "127.0.0.1", "Address of that port; anything but loopback is for all to read.");
ABSL_FLAG(int, grace_seconds, 10, "How long running calls may go on after a stop is asked for.");
