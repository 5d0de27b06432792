#pragma once

#include <sys/types.h>

#include <atomic>
#include <string>
#include <thread>
#include <vector>

namespace coilwright::archive {

// Stands between a program and a PostgreSQL server, both by a socket of the file system, and cuts the connection at a
// commit.
class CuttingProxy {
 public:
  enum class Cut {
    kNone,
    kBefore,  // the server never hears of the commit
    kAfter,   // the server commits, its answer is lost
    kLate,    // the caller is cut off, and the commit reaches the server a second later
  };

  // `folder`: of the server's socket. The proxy's own is in a fresh folder.
  explicit CuttingProxy(const std::string& folder);
  ~CuttingProxy();
  CuttingProxy(const CuttingProxy&) = delete;
  CuttingProxy& operator=(const CuttingProxy&) = delete;

  const std::string& folder() const { return folder_; }
  // Of the next commit; the ones after it pass.
  void CutNext(Cut cut) { next_ = cut; }
  int cuts() const { return cuts_; }
  // Cuts after which the server has committed.
  int unheard() const { return unheard_; }

 private:
  void Listen();
  void Pass(int client);

  const std::string server_;
  std::string folder_;
  int listener_ = -1;
  std::atomic<Cut> next_{Cut::kNone};
  std::atomic<int> cuts_{0}, unheard_{0};
  std::atomic<bool> stopping_{false};
  std::thread thread_;
  std::vector<std::thread> passing_;
};

}  // namespace coilwright::archive
