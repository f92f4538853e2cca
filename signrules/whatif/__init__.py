"""What if: how far a number can go, and the least change after which nothing forbids a job."""
