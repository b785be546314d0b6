// What depends on the operating system, in one place (Linux is built and tested).
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "fitwright/base/progress.h"
#include "fitwright/base/result.h"

namespace fitwright {

// Folder of the running program; empty when it cannot be told.
std::filesystem::path ProgramFolder();

// Replaces this process by `program` with the arguments (without the program's own name). Returns only
// when that fails: kFileMissing when there is no such program, else kInternal.
Error ReplaceProcess(const std::filesystem::path& program,
                     const std::vector<std::string>& arguments);

enum class Stream { kOut, kErr };
bool IsTerminal(Stream stream);
// Columns of the terminal on standard output, else COLUMNS, else 80.
int TerminalWidth();
// True when standard output is a terminal and NO_COLOR is not set.
bool WantsColour();

// From now on an interrupt from the keyboard or a request to end cancels the flag, which must outlive
// the process's work. A second one ends the process at once with status 130.
void CancelOnInterrupt(CancelFlag* flag);

// Returns when the flag is cancelled, a tenth of a second later at most.
void WaitForCancel(const CancelFlag& flag);

// This machine's IPv4 addresses on networks that are up, without its own loopback; sorted.
std::vector<std::string> NetworkAddresses();

// This user's folder for what may be deleted at any time; empty when the system names none.
std::filesystem::path UserCacheFolder();

}  // namespace fitwright
