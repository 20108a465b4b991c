//! Goal: an answer by the index is the answer by brute force. Method: see the cases.
