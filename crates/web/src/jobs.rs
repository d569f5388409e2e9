//! Long work, off the request path: it shows how far it is, can be stopped, and leaves the last
//! good result standing.

use crate::app::{App, Seen};
use crate::layout::{Frame, Page, page};
use axum::Router;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use maud::{Markup, html};
use std::fmt;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// How a job stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stand {
    /// Under way.
    Running,
    /// Done, with a sentence on what came of it.
    Done(String),
    /// Stopped by hand; the last good result stands.
    Stopped,
    /// Failed, with the reason.
    Failed(String),
}

/// One piece of long work.
#[derive(Debug, Clone)]
pub struct Job {
    /// Its number since the program was started.
    pub number: u64,
    /// What it does.
    pub title: String,
    /// Where it leads when it is done.
    pub then: String,
    /// How it stands.
    pub stand: Stand,
    /// Share done, 0 to 1.
    pub share: f64,
    /// What it is at, in words.
    pub at: String,
    /// When it began.
    pub began: Instant,
    /// How long it took, once it is over.
    pub took: Option<Duration>,
}

/// What the work holds in its hand: it tells how far it is and hears whether to stop.
#[derive(Clone)]
pub struct Progress {
    jobs: Jobs,
    number: u64,
    stop: Arc<AtomicBool>,
}

impl Progress {
    /// Tells the share done, 0 to 1, and what the work is at.
    pub fn tell(&self, share: f64, at: impl Into<String>) {
        let at = at.into();
        self.jobs.change(self.number, |job| {
            job.share = share.clamp(0.0, 1.0);
            job.at = at;
        });
    }
    /// Whether the work should end now.
    pub fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

impl fmt::Debug for Progress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Progress").field("number", &self.number).finish_non_exhaustive()
    }
}

/// A job, and the sign that asks it to stop.
type Kept = (Job, Arc<AtomicBool>);

/// All jobs since the program was started.
#[derive(Debug, Clone, Default)]
pub struct Jobs {
    kept: Arc<Mutex<Vec<Kept>>>,
    next: Arc<AtomicU64>,
}

impl Jobs {
    /// Starts `work` on a thread of its own and gives its number.
    ///
    /// The work says what came of it, or why it failed. When it was asked to stop, whatever it says
    /// the job stands as stopped, so a half result is never taken for a whole one.
    pub fn start<W>(&self, title: impl Into<String>, then: impl Into<String>, work: W) -> u64
    where
        W: FnOnce(&Progress) -> Result<String, String> + Send + 'static,
    {
        let number = self.next.fetch_add(1, Ordering::Relaxed) + 1;
        let stop = Arc::new(AtomicBool::new(false));
        let job = Job {
            number,
            title: title.into(),
            then: then.into(),
            stand: Stand::Running,
            share: 0.0,
            at: String::new(),
            began: Instant::now(),
            took: None,
        };
        self.lock().push((job, stop.clone()));
        let progress = Progress { jobs: self.clone(), number, stop };
        std::thread::spawn(move || {
            let run = std::panic::AssertUnwindSafe(|| work(&progress));
            let result = std::panic::catch_unwind(run);
            progress.jobs.change(progress.number, |job| {
                job.took = Some(job.began.elapsed());
                job.stand = match result {
                    Ok(Ok(says)) => Stand::Done(says),
                    Ok(Err(_)) if progress.stopped() => Stand::Stopped,
                    Ok(Err(why)) => Stand::Failed(why),
                    Err(_) => {
                        Stand::Failed("The work failed in a way that is ours to mend.".into())
                    }
                };
            });
        });
        number
    }

    /// Asks a job to stop. It ends at its next look; what was good before stands.
    pub fn stop(&self, number: u64) {
        if let Some((_, stop)) = self.lock().iter().find(|(job, _)| job.number == number) {
            stop.store(true, Ordering::Relaxed);
        }
    }

    /// A job by its number.
    pub fn get(&self, number: u64) -> Option<Job> {
        self.lock().iter().map(|(job, _)| job).find(|job| job.number == number).cloned()
    }

    /// The job under way that began last.
    pub fn running(&self) -> Option<Job> {
        let kept = self.lock();
        kept.iter().rev().map(|(job, _)| job).find(|job| job.stand == Stand::Running).cloned()
    }

    /// The job that began last, under way or over.
    pub fn last(&self) -> Option<Job> {
        self.lock().last().map(|(job, _)| job.clone())
    }

    fn change(&self, number: u64, change: impl FnOnce(&mut Job)) {
        if let Some((job, _)) = self.lock().iter_mut().find(|(job, _)| job.number == number) {
            change(job);
        }
    }

    fn lock(&self) -> MutexGuard<'_, Vec<Kept>> {
        // A job that panicked while it told its share leaves whole data behind.
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The addresses of jobs.
pub(crate) fn router() -> Router<Arc<App>> {
    Router::new().route("/jobs/{number}", get(show)).route("/jobs/{number}/stop", post(stop))
}

async fn show(State(app): State<Arc<App>>, seen: Seen, Path(number): Path<u64>) -> Response {
    let Some(job) = app.jobs.get(number) else {
        return crate::fail::refused(StatusCode::NOT_FOUND, "No work has this number.");
    };
    if matches!(job.stand, Stand::Done(_)) {
        return if seen.part {
            ([("x-then", job.then)], "").into_response()
        } else {
            Redirect::to(&job.then).into_response()
        };
    }
    if seen.part {
        return draw(&job).into_response();
    }
    whole(&app, &seen, &job).into_response()
}

/// The page of a job: what a place shows while what it needs is being made.
pub(crate) fn whole(app: &App, seen: &Seen, job: &Job) -> Markup {
    let body = html! {
        @if job.stand == Stand::Running {
            noscript { meta http-equiv="refresh" content="1"; }
        }
        (draw(job))
    };
    let title = Page { place: None, title: &job.title, line: html! {}, body };
    page(app, seen, &Frame::default(), &title)
}

async fn stop(State(app): State<Arc<App>>, Path(number): Path<u64>) -> Redirect {
    app.jobs.stop(number);
    Redirect::to(&format!("/jobs/{number}"))
}

fn draw(job: &Job) -> Markup {
    let used = job.took.unwrap_or_else(|| job.began.elapsed()).as_secs();
    let running = job.stand == Stand::Running;
    let address = format!("/jobs/{}", job.number);
    html! {
        section id="job" data-part data-poll=[running.then_some(&address)] {
            @match &job.stand {
                Stand::Running => {
                    p.answer role="status" { (job.at) }
                    progress.bar max="100" value=(format!("{:.0}", job.share * 100.0))
                        aria-label=(job.title) {}
                    p.soft {
                        (format!("{:.0}", job.share * 100.0)) "\u{202f}% done, "
                        (used) "\u{202f}s used."
                    }
                    form.acts method="post" action={ (address) "/stop" } {
                        button.act { "Stop and keep the last good" }
                    }
                },
                Stand::Done(says) => p.answer { (says) },
                Stand::Stopped => p.answer {
                    "Stopped after " (used) "\u{202f}s. What was good before stands."
                },
                Stand::Failed(why) => {
                    p.answer.copper { (why) }
                    p { "What was good before stands." }
                },
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wait(jobs: &Jobs, number: u64) -> Job {
        for _ in 0..2000 {
            let job = jobs.get(number).expect("the job");
            if job.stand != Stand::Running {
                return job;
            }
            std::thread::sleep(Duration::from_millis(1));
        }
        panic!("the job did not end");
    }

    #[test]
    fn a_stopped_job_says_so_and_one_that_fails_says_why() {
        let jobs = Jobs::default();
        let endless = jobs.start("count", "/", |progress| {
            while !progress.stopped() {
                progress.tell(0.5, "counting");
                std::thread::yield_now();
            }
            Err("stopped".to_owned())
        });
        jobs.stop(endless);
        assert_eq!(wait(&jobs, endless).stand, Stand::Stopped);
        let failed = jobs.start("fail", "/", |_| Err("no room on the disk".to_owned()));
        assert_eq!(wait(&jobs, failed).stand, Stand::Failed("no room on the disk".to_owned()));
        let broken = jobs.start("break", "/", |_| panic!("on purpose"));
        assert!(matches!(wait(&jobs, broken).stand, Stand::Failed(_)));
        let done = jobs.start("do", "/today", |_| Ok("made".to_owned()));
        assert_eq!(wait(&jobs, done).stand, Stand::Done("made".to_owned()));
    }
}
