#include "fitwright/base/parallel.h"

#include <pthread.h>

#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <thread>

namespace fitwright {
namespace {

// One call, on the stack of its caller.
struct Work {
  std::size_t count = 0;
  const std::function<void(std::size_t)>* body = nullptr;
  std::atomic<std::size_t> next{0};
  int wanted = 0;   // helpers that may still join; guarded by the pool
  int helping = 0;  // that have joined and are not done; guarded by the pool

  void Do() {
    for (std::size_t i = next.fetch_add(1); i < count; i = next.fetch_add(1)) (*body)(i);
  }
};

// In a copy of the process, where none of the threads is, nor who might hold their lock.
std::atomic<bool> copied{false};

// Threads that stay: one begun for each call would bring its own heap each time. Never taken down, so that nothing
// at the program's end waits for them.
class Pool {
 public:
  static Pool& The() {
    static Pool* const pool = [] {
      pthread_atfork(nullptr, nullptr, [] { copied = true; });
      return new Pool;
    }();
    return *pool;
  }

  void Run(Work& work) {
    {
      const std::lock_guard lock(mutex_);
      for (; threads_ < work.wanted; ++threads_) std::thread([this] { Help(); }).detach();
      open_.push_back(&work);
    }
    begun_.notify_all();
    work.Do();
    std::unique_lock lock(mutex_);
    work.wanted = 0;
    std::erase(open_, &work);
    done_.wait(lock, [&] { return work.helping == 0; });
  }

 private:
  void Help() {
    std::unique_lock lock(mutex_);
    while (true) {
      begun_.wait(lock, [&] { return !open_.empty(); });
      Work& work = *open_.front();
      ++work.helping;
      if (--work.wanted == 0) open_.pop_front();
      lock.unlock();
      work.Do();
      lock.lock();
      if (work.wanted > 0) {  // all of it is taken, though not done
        work.wanted = 0;
        std::erase(open_, &work);
      }
      if (--work.helping == 0) done_.notify_all();
    }
  }

  std::mutex mutex_;
  std::condition_variable begun_;
  std::condition_variable done_;
  std::deque<Work*> open_;
  int threads_ = 0;
};

}  // namespace

void ParallelFor(std::size_t count, int threads, const std::function<void(std::size_t)>& body) {
  const std::size_t most = threads > 0 ? static_cast<std::size_t>(threads) : std::max(1U, std::thread::hardware_concurrency());
  Work work;
  work.count = count;
  work.body = &body;
  work.wanted = static_cast<int>(std::min(most, count)) - 1;
  if (work.wanted > 0 && !copied) {
    Pool::The().Run(work);
  } else {
    work.Do();
  }
}

}  // namespace fitwright
