"""What a member's question is about, how long an answer will take, and which questions are the same in other words."""
