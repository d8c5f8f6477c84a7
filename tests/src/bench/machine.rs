//! What kind of machine a benchmark ran on, and how much memory a process has.

use serde::{Deserialize, Serialize};
use std::fs::read_to_string;

/// The machine, without its name.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Machine {
    /// The processor's model.
    pub processor: String,
    /// How many cores this process may use.
    pub cores: usize,
    /// The system and its version.
    pub kernel: String,
    /// Memory in GiB.
    pub memory_gib: f64,
    /// How many processes wanted to run over the last minute before the benchmark.
    pub load_before: f64,
}

impl Machine {
    /// This one. What the system does not tell is "unknown" or 0.
    pub fn here() -> Self {
        let unknown = || "unknown".to_string();
        let value = |path: &str, key: &str| {
            let text = read_to_string(path).ok()?;
            let line = text.lines().find(|line| line.starts_with(key))?;
            Some(line.split_once(':')?.1.trim().to_string())
        };
        let version = read_to_string("/proc/sys/kernel/osrelease").unwrap_or_default();
        let memory = value("/proc/meminfo", "MemTotal").and_then(|kib| kilo(&kib));
        let load = read_to_string("/proc/loadavg").ok();
        let load = load.and_then(|text| text.split_whitespace().next()?.parse().ok());
        Self {
            processor: value("/proc/cpuinfo", "model name").unwrap_or_else(unknown),
            cores: std::thread::available_parallelism().map_or(0, |n| n.get()),
            kernel: format!("{} {}", std::env::consts::OS, version.trim()),
            memory_gib: (memory.unwrap_or(0.0) / 1024.0 / 1024.0 * 10.0).round() / 10.0,
            load_before: load.unwrap_or(0.0),
        }
    }
}

/// The resident memory of this process in kibibytes, if the machine tells.
pub fn resident_kib() -> Option<f64> {
    let status = read_to_string("/proc/self/status").ok()?;
    kilo(status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?)
}

fn kilo(text: &str) -> Option<f64> {
    text.trim().strip_suffix("kB")?.trim().parse().ok()
}
