//! Compiles the contract without protoc: protox parses, tonic-prost-build generates.

use prost::Message;
use std::{env, error::Error, fs, path::PathBuf};

fn main() -> Result<(), Box<dyn Error>> {
    let mut files = fs::read_dir("tenths/v1")?
        .map(|entry| Ok(entry?.path()))
        .collect::<Result<Vec<PathBuf>, std::io::Error>>()?;
    files.sort();
    let descriptors = protox::compile(&files, ["."])?;
    // Reflection serves the descriptors as bytes; compile_fds does not write them itself.
    let out = PathBuf::from(env::var("OUT_DIR")?);
    fs::write(out.join("tenths_v1.bin"), descriptors.encode_to_vec())?;
    tonic_prost_build::configure().compile_fds(descriptors)?;
    println!("cargo:rerun-if-changed=tenths");
    Ok(())
}
