//! The pages on a port of this machine, until the program is asked to stop.

use crate::{out, status};
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use web::App;

/// A port of this machine that is ours.
pub(super) struct Pages {
    listener: TcpListener,
    address: SocketAddr,
}

impl Pages {
    /// Takes a port on the loopback address, where nobody logs in.
    pub(super) fn bind(port: u16) -> Result<Self, u8> {
        let bound = TcpListener::bind((Ipv4Addr::LOCALHOST, port))
            .and_then(|listener| listener.local_addr().map(|address| (listener, address)));
        match bound {
            Ok((listener, address)) => Ok(Self { listener, address }),
            Err(error) => {
                out::complain(&format!(
                    "port {port} of this machine cannot be had ({error}); give another by --port"
                ));
                Err(status::FAULT)
            }
        }
    }

    /// Where the pages are.
    pub(super) fn address(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Prints the address and serves until the program is asked to stop; what is under way then
    /// is finished first.
    pub(super) fn serve(self, app: Arc<App>) -> u8 {
        out::say(&format!("{}\n", self.address()));
        let served = self.listener.set_nonblocking(true).and_then(|()| {
            let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build()?;
            runtime.block_on(async {
                let listener = tokio::net::TcpListener::from_std(self.listener)?;
                web::serve(app, listener, asked_to_stop()).await
            })
        });
        match served {
            Ok(()) => status::GOOD,
            Err(error) => {
                out::complain(&format!("the pages cannot be served: {error}"));
                status::FAULT
            }
        }
    }
}

async fn asked_to_stop() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut ended) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = interrupted => {}
                _ = ended.recv() => {}
            }
            return;
        }
    }
    // Without a way to hear of it, the program is stopped the hard way; the book can take that.
    let _ = interrupted.await;
}
