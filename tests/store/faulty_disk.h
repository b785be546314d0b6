// A disk in memory that SQLite writes to: the power can go between two of its actions, and what was not
// synced then stands, is gone or is torn; it can be full, and it can refuse to be written.
#pragma once

#include <sqlite3.h>

#include <algorithm>
#include <cstdint>
#include <cstring>
#include <map>
#include <memory>
#include <random>
#include <string>
#include <vector>

namespace fitwright::store_test {

class FaultyDisk {
 public:
  explicit FaultyDisk(std::string name) : name_(std::move(name)) {
    vfs_ = *sqlite3_vfs_find(nullptr);  // clock, sleep and chance are the system's
    vfs_.szOsFile = sizeof(File);
    vfs_.pNext = nullptr;
    vfs_.zName = name_.c_str();
    vfs_.pAppData = this;
    vfs_.xOpen = Open;
    vfs_.xDelete = Delete;
    vfs_.xAccess = Access;
    vfs_.xFullPathname = FullPathname;
    sqlite3_vfs_register(&vfs_, 0);
  }
  ~FaultyDisk() { sqlite3_vfs_unregister(&vfs_); }
  FaultyDisk(const FaultyDisk&) = delete;
  FaultyDisk& operator=(const FaultyDisk&) = delete;

  const std::string& name() const { return name_; }

  // The power goes at the n-th action from now; -1 = never.
  void CutAfter(std::int64_t actions) { actions_left_ = actions; }
  bool is_off() const { return off_; }
  // What stands after a cut, and the power again. Files that were open must be closed.
  void PowerUp(std::mt19937_64& chance) {
    for (const auto& name : AllNames()) {
      if (Of(names_, name) != Of(safe_names_, name) && chance() % 2 == 0) Put(safe_names_, name, Of(names_, name));
    }
    names_ = safe_names_;
    for (auto& [name, inode] : names_) inode->Settle(chance);
    shared_.clear();
    off_ = false;
    actions_left_ = -1;
  }
  // Bytes that all files together may have; -1 = any.
  void SetRoom(std::int64_t bytes) { room_ = bytes; }
  std::int64_t Used() const {
    std::int64_t used = 0;
    for (const auto& [name, inode] : names_) used += static_cast<std::int64_t>(inode->bytes.size());
    return used;
  }
  void SetReadOnly(bool read_only) { read_only_ = read_only; }
  std::int64_t actions() const { return actions_; }
  std::map<std::string, std::string> Files() const {
    std::map<std::string, std::string> files;
    for (const auto& [name, inode] : names_) files[name] = inode->bytes;
    return files;
  }

 private:
  struct Change {
    std::size_t at = 0;
    std::string bytes;
    bool cuts_off = false;  // the file ends at `at`
  };
  static void Apply(std::string& to, std::size_t at, std::string_view bytes) {
    if (to.size() < at + bytes.size()) to.resize(at + bytes.size(), '\0');
    to.replace(at, bytes.size(), bytes);
  }
  struct Inode {
    std::string bytes;   // as programs see it
    std::string safe;    // as synced
    std::vector<Change> unsynced;
    void Sync() {
      safe = bytes;
      unsynced.clear();
    }
    void Settle(std::mt19937_64& chance) {
      for (const Change& change : unsynced) {
        const auto fate = chance() % 4;
        if (fate == 0) continue;
        if (change.cuts_off) {
          safe.resize(change.at, '\0');
        } else if (fate == 1 && change.bytes.size() > 1) {
          const std::size_t from = chance() % change.bytes.size();
          const std::size_t count = 1 + chance() % (change.bytes.size() - from);
          Apply(safe, change.at + from, std::string_view(change.bytes).substr(from, count));
        } else {
          Apply(safe, change.at, change.bytes);
        }
      }
      bytes = safe;
      unsynced.clear();
    }
  };
  using InodePtr = std::shared_ptr<Inode>;
  using Names = std::map<std::string, InodePtr>;
  struct File {
    sqlite3_file base;
    FaultyDisk* disk;
    InodePtr* inode;
    std::string* name;
  };

  static InodePtr Of(const Names& names, const std::string& name) {
    const auto found = names.find(name);
    return found == names.end() ? nullptr : found->second;
  }
  static void Put(Names& names, const std::string& name, const InodePtr& inode) {
    if (inode == nullptr) names.erase(name);
    else names[name] = inode;
  }
  std::vector<std::string> AllNames() const {
    std::vector<std::string> all;
    for (const auto& [name, inode] : names_) all.push_back(name);
    for (const auto& [name, inode] : safe_names_) {
      if (names_.count(name) == 0) all.push_back(name);
    }
    return all;
  }
  // False when the power is gone.
  bool Act() {
    ++actions_;
    if (actions_left_ == 0) off_ = true;
    if (actions_left_ > 0) --actions_left_;
    return !off_;
  }

  static FaultyDisk& DiskOf(sqlite3_vfs* vfs) { return *static_cast<FaultyDisk*>(vfs->pAppData); }
  static File& FileOf(sqlite3_file* file) { return *reinterpret_cast<File*>(file); }

  static int Open(sqlite3_vfs* vfs, const char* path, sqlite3_file* file, int flags, int* out_flags) {
    FaultyDisk& disk = DiskOf(vfs);
    File& f = FileOf(file);
    f.base.pMethods = nullptr;
    if (disk.off_) return SQLITE_IOERR;
    const std::string name = path == nullptr ? "" : path;
    InodePtr inode = Of(disk.names_, name);
    if (inode == nullptr) {
      if ((flags & SQLITE_OPEN_CREATE) == 0 || disk.read_only_) return SQLITE_CANTOPEN;
      inode = std::make_shared<Inode>();
      if (!name.empty()) {
        if (!disk.Act()) return SQLITE_IOERR;
        disk.names_[name] = inode;
      }
    }
    if (disk.read_only_ && (flags & SQLITE_OPEN_READWRITE) != 0) return SQLITE_CANTOPEN;
    f.disk = &disk;
    f.inode = new InodePtr(inode);
    f.name = new std::string(name);
    f.base.pMethods = Methods();
    if (out_flags != nullptr) *out_flags = flags;
    return SQLITE_OK;
  }
  static int Delete(sqlite3_vfs* vfs, const char* path, int sync_folder) {
    FaultyDisk& disk = DiskOf(vfs);
    if (!disk.Act()) return SQLITE_IOERR_DELETE;
    if (disk.names_.erase(path) == 0) return SQLITE_IOERR_DELETE_NOENT;
    if (sync_folder != 0) disk.safe_names_ = disk.names_;
    return SQLITE_OK;
  }
  static int Access(sqlite3_vfs* vfs, const char* path, int, int* result) {
    FaultyDisk& disk = DiskOf(vfs);
    if (disk.off_) return SQLITE_IOERR_ACCESS;
    *result = disk.names_.count(path) > 0 ? 1 : 0;
    return SQLITE_OK;
  }
  static int FullPathname(sqlite3_vfs*, const char* path, int size, char* out) {
    sqlite3_snprintf(size, out, "%s", path);
    return SQLITE_OK;
  }

  static int Close(sqlite3_file* file) {
    delete FileOf(file).inode;
    delete FileOf(file).name;
    return SQLITE_OK;
  }
  static int Read(sqlite3_file* file, void* to, int count, sqlite3_int64 at) {
    const File& f = FileOf(file);
    if (f.disk->off_) return SQLITE_IOERR_READ;
    const std::string& bytes = (*f.inode)->bytes;
    const auto from = std::min(static_cast<std::size_t>(at), bytes.size());
    const std::size_t there = std::min(static_cast<std::size_t>(count), bytes.size() - from);
    std::memcpy(to, bytes.data() + from, there);
    std::memset(static_cast<char*>(to) + there, 0, static_cast<std::size_t>(count) - there);
    return there == static_cast<std::size_t>(count) ? SQLITE_OK : SQLITE_IOERR_SHORT_READ;
  }
  static int Write(sqlite3_file* file, const void* from, int count, sqlite3_int64 at) {
    const File& f = FileOf(file);
    Inode& inode = **f.inode;
    if (f.disk->off_) return SQLITE_IOERR_WRITE;
    if (f.disk->read_only_) return SQLITE_READONLY;
    const auto end = static_cast<std::int64_t>(at) + count;
    const auto grows = std::max<std::int64_t>(0, end - static_cast<std::int64_t>(inode.bytes.size()));
    if (f.disk->room_ >= 0 && f.disk->Used() + grows > f.disk->room_) return SQLITE_FULL;
    Change change{static_cast<std::size_t>(at), {static_cast<const char*>(from), static_cast<std::size_t>(count)}, false};
    Apply(inode.bytes, change.at, change.bytes);
    inode.unsynced.push_back(std::move(change));
    return f.disk->Act() ? SQLITE_OK : SQLITE_IOERR_WRITE;
  }
  static int Truncate(sqlite3_file* file, sqlite3_int64 size) {
    const File& f = FileOf(file);
    Inode& inode = **f.inode;
    if (f.disk->off_) return SQLITE_IOERR_TRUNCATE;
    inode.bytes.resize(static_cast<std::size_t>(size), '\0');
    inode.unsynced.push_back({static_cast<std::size_t>(size), "", true});
    return f.disk->Act() ? SQLITE_OK : SQLITE_IOERR_TRUNCATE;
  }
  // A file new in its folder takes the folder's names with it, as SQLite's own way to the disk has it for all
  // but the database itself.
  static int Sync(sqlite3_file* file, int) {
    const File& f = FileOf(file);
    if (!f.disk->Act()) return SQLITE_IOERR_FSYNC;
    (*f.inode)->Sync();
    const bool is_beside = f.name->find("-wal") != std::string::npos || f.name->find("-journal") != std::string::npos;
    if (is_beside && Of(f.disk->safe_names_, *f.name) != *f.inode) f.disk->safe_names_ = f.disk->names_;
    return SQLITE_OK;
  }
  static int FileSize(sqlite3_file* file, sqlite3_int64* size) {
    *size = static_cast<sqlite3_int64>((*FileOf(file).inode)->bytes.size());
    return SQLITE_OK;
  }
  static int NoLock(sqlite3_file*, int) { return SQLITE_OK; }
  static int IsReserved(sqlite3_file*, int* reserved) {
    *reserved = 0;
    return SQLITE_OK;
  }
  static int Control(sqlite3_file*, int, void*) { return SQLITE_NOTFOUND; }
  static int SectorSize(sqlite3_file*) { return 4096; }
  static int Character(sqlite3_file*) { return SQLITE_IOCAP_POWERSAFE_OVERWRITE; }
  static int ShmMap(sqlite3_file* file, int region, int size, int, void volatile** out) {
    const File& f = FileOf(file);
    auto& regions = f.disk->shared_[*f.name];
    while (regions.size() <= static_cast<std::size_t>(region)) {
      regions.push_back(std::make_unique<std::uint64_t[]>(static_cast<std::size_t>(size) / sizeof(std::uint64_t)));
    }
    *out = regions[static_cast<std::size_t>(region)].get();
    return SQLITE_OK;
  }
  static int ShmLock(sqlite3_file*, int, int, int) { return SQLITE_OK; }
  static void ShmBarrier(sqlite3_file*) {}
  static int ShmUnmap(sqlite3_file* file, int) {
    FileOf(file).disk->shared_.erase(*FileOf(file).name);
    return SQLITE_OK;
  }
  static const sqlite3_io_methods* Methods() {
    static const sqlite3_io_methods methods = {
        2,        Close,     Read,     Write,   Truncate,   Sync,   FileSize,   NoLock,     NoLock,  IsReserved,
        Control,  SectorSize, Character, ShmMap, ShmLock, ShmBarrier, ShmUnmap, nullptr, nullptr};
    return &methods;
  }

  std::string name_;
  sqlite3_vfs vfs_{};
  Names names_;
  Names safe_names_;
  std::map<std::string, std::vector<std::unique_ptr<std::uint64_t[]>>> shared_;
  std::int64_t actions_ = 0;
  std::int64_t actions_left_ = -1;
  std::int64_t room_ = -1;
  bool off_ = false;
  bool read_only_ = false;
};

}  // namespace fitwright::store_test
