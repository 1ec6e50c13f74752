//! Forecasts kept, judged and shown: an invented archive whose answer is known, and the program as its user runs it.

mod judged;
mod kept;
mod observed;
mod program;
mod scene;
mod shown;
mod turnover;
