#!/usr/bin/env python3
"""clang-tidy over the sources; exits 1 on any finding. What was clean is not read again: it is kept by
the hash of the preprocessed text, the command and the checks."""
import concurrent.futures as futures
import hashlib, json, os, pathlib, shlex, subprocess, sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
CLEAN = ROOT / "build/tidy/clean"


def preprocess(entry):
    words = shlex.split(entry["command"])
    kept = [w for i, w in enumerate(words[1:], 1) if w not in ("-o", "-c") and words[i - 1] != "-o"]
    return subprocess.run(["clang++", "-E", "-P", "-w", *kept], capture_output=True, check=True).stdout


def look(entry, settings):
    """The findings of one source as text, or None where there are none."""
    text = entry["command"].encode() + settings + preprocess(entry)
    stamp = CLEAN / hashlib.sha256(text).hexdigest()
    if stamp.exists():
        return None
    run = subprocess.run(["clang-tidy", "--quiet", "-p", ROOT / "build/tidy", entry["file"]], capture_output=True, text=True)
    if run.returncode == 0 and not run.stdout.strip():
        stamp.touch()
        return None
    return run.stdout or run.stderr


def main():
    subprocess.run(["cmake", "--preset", "tidy"], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    CLEAN.mkdir(parents=True, exist_ok=True)
    version = subprocess.run(["clang-tidy", "--version"], capture_output=True, check=True).stdout
    settings = (ROOT / ".clang-tidy").read_bytes() + version
    # Sources by themselves, and those that are read several at once.
    entries = [e for e in json.loads((ROOT / "build/tidy/compile_commands.json").read_text())
               if e["file"].startswith((str(ROOT / "src") + "/", str(ROOT / "build/tidy/CMakeFiles/fw_")))]
    bad = 0
    with futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        waiting = [pool.submit(look, entry, settings) for entry in entries]
        for done, one in enumerate(futures.as_completed(waiting), 1):
            if one.result():
                bad += 1
                print(one.result(), flush=True)
            if done % 50 == 0:
                print(f"tidy: {done} of {len(entries)} of what is compiled", file=sys.stderr, flush=True)
    print(f"tidy: {len(entries)} sources, {bad} with findings")
    return 1 if bad else 0


sys.exit(main())
